"""A frozen record a kind of part. The fields are the CSV columns, units in their names.

``KINDS`` maps each kind to its record; its order is the order of every listing.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

Skill = Literal["", "mains_wiring", "gas_fitting", "cell_assembly", "roof_cutting", "body_cutting"]
Fuel = Literal["", "diesel", "petrol", "kerosene", "propane", "alcohol"]
Opening = Literal["", "roof", "wall", "floor"]

ID = r"^[a-z0-9][a-z0-9._-]*$"


class Part(BaseModel):
    """What every part has. Sizes are outer sizes; 0 means that it takes no space worth counting."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    id: str = Field(pattern=ID, max_length=60, description="unique over all kinds")
    name: str = Field(min_length=1, max_length=120, description="what a person calls it")
    price_usd: float = Field(ge=0, le=100_000, description="price of one [USD]")
    mass_kg: float = Field(ge=0, le=1000, description="mass of one, empty [kg]")
    length_mm: float = Field(default=0, ge=0, le=6000, description="outer length [mm]")
    width_mm: float = Field(default=0, ge=0, le=3000, description="outer width [mm]")
    height_mm: float = Field(default=0, ge=0, le=3000, description="outer height [mm]")
    bay_tags: str = Field(
        default="inside",
        max_length=80,
        description="where it may live: a bay with any one of these tags will do; none = needs no bay",
    )
    upright: bool = Field(default=False, description="must stand upright: height stays up")
    clearance_mm: float = Field(
        default=0, ge=0, le=500, description="kept free around it: air, or what a panel's brackets take [mm]"
    )
    opening: Opening = Field(default="", description="hole it needs")
    skill: Skill = Field(default="", description="skill it asks for")
    note: str = Field(default="", max_length=300, description="anything worth knowing")


class Battery(Part):
    """A ready pack with its management system inside, a lead-acid battery, or a loose cell.

    Loose LFP cells (``managed`` = false) need a cell manager for as many cells as stand in series.
    """

    chemistry: Literal["lfp", "agm", "gel", "flooded", "lfp_heated"] = Field(description="cell chemistry")
    nominal_v: float = Field(gt=0, le=60, description="nominal voltage [V]")
    capacity_ah: float = Field(gt=0, le=2000, description="rated capacity at 25 degC [Ah]")
    usable_share: float = Field(
        gt=0, le=1, description="share that may be used; of lead-acid 0.15 less is counted on: its top fills slowly [-]"
    )
    charge_a: float = Field(gt=0, le=1000, description="largest continuous charge current [A]")
    discharge_a: float = Field(gt=0, le=2000, description="largest continuous discharge current [A]")
    peak_a: float = Field(gt=0, le=5000, description="largest current for a few seconds [A]")
    charge_efficiency: float = Field(gt=0, le=1, description="share of charge energy kept [-]")
    discharge_efficiency: float = Field(gt=0, le=1, description="share of stored energy given back [-]")
    self_use_w: float = Field(default=0, ge=0, le=50, description="own draw of its electronics [W]")
    series_max: int = Field(ge=1, le=16, description="most in series")
    parallel_max: int = Field(ge=1, le=16, description="most strings side by side")
    managed: bool = Field(description="needs no cell manager (true), or is a loose cell (false)")


class CellManager(Part):
    """Management system, main fuse, busbars and enclosure for a bank of loose cells."""

    cells: int = Field(ge=3, le=20, description="cells in series it manages")
    charge_a: float = Field(gt=0, le=1000, description="largest charge current [A]")
    discharge_a: float = Field(gt=0, le=2000, description="largest discharge current [A]")
    self_use_w: float = Field(default=0, ge=0, le=20, description="own draw [W]")


class SolarPanel(Part):
    """A panel; size lying flat, height with its brackets."""

    power_w: float = Field(gt=0, le=1000, description="rated power at 25 degC cell, 1000 W/m2 [W]")
    voc_v: float = Field(gt=0, le=120, description="open-circuit voltage [V]")
    vmp_v: float = Field(gt=0, le=100, description="working voltage [V]")
    isc_a: float = Field(gt=0, le=40, description="short-circuit current [A]")
    imp_a: float = Field(gt=0, le=40, description="working current [A]")
    power_coefficient_pct_k: float = Field(ge=-1, le=0, description="power by temperature [%/K]")
    voc_coefficient_pct_k: float = Field(
        default=0, ge=-1, le=0,
        description="open-circuit voltage by temperature [%/K], 0 = not known: Table 690.7(A) of NFPA 70 holds",
    )  # fmt: skip
    noct_c: float = Field(ge=30, le=90, description="nominal operating cell temperature as mounted [degC]")
    flexible: bool = Field(description="glued and flexible (true) or rigid (false)")
    bracket_price_usd: float = Field(default=0, ge=0, le=1000, description="brackets or glue for one [USD]")
    bracket_mass_kg: float = Field(default=0, ge=0, le=50, description="brackets or glue for one [kg]")


class ChargeController(Part):
    """A solar charge controller."""

    tracking: bool = Field(description="maximum power point tracking (true) or switching, PWM (false)")
    output_a: float = Field(gt=0, le=200, description="largest charge current [A]")
    array_v_max: float = Field(gt=0, le=600, description="largest array voltage, ever [V]")
    array_a_max: float = Field(gt=0, le=300, description="largest array short-circuit current [A]")
    bank_v: str = Field(description="bank voltages it charges")
    efficiency: float = Field(gt=0, le=1, description="conversion efficiency [-]")
    headroom_v: float = Field(default=0, ge=0, le=30, description="array voltage needed above the bank's [V]")
    idle_w: float = Field(default=0, ge=0, le=20, description="own draw [W]")


class AlternatorCharger(Part):
    """A DC-DC charger from the vehicle's alternator."""

    output_a: float = Field(gt=0, le=200, description="largest charge current [A]")
    bank_v: str = Field(description="bank voltages it charges")
    efficiency: float = Field(gt=0, le=1, description="conversion efficiency [-]")
    idle_w: float = Field(default=0, ge=0, le=20, description="own draw [W]")


class MainsCharger(Part):
    """A charger for a hook-up."""

    output_a: float = Field(gt=0, le=200, description="largest charge current [A]")
    bank_v: str = Field(description="bank voltages it charges")
    efficiency: float = Field(gt=0, le=1, description="conversion efficiency [-]")


class Inverter(Part):
    """DC to mains voltage."""

    bank_v: str = Field(description="bank voltages it runs from")
    continuous_w: float = Field(gt=0, le=10000, description="power it holds [W]")
    peak_w: float = Field(gt=0, le=30000, description="power for a moment [W]")
    efficiency: float = Field(gt=0, le=1, description="efficiency at working load [-]")
    idle_w: float = Field(ge=0, le=100, description="own draw while switched on [W]")


class DcConverter(Part):
    """Steps a 24 V or 48 V bank down to 12 V for the small things."""

    bank_v: str = Field(description="bank voltages it runs from")
    continuous_w: float = Field(gt=0, le=5000, description="power it holds [W]")
    efficiency: float = Field(gt=0, le=1, description="efficiency [-]")
    idle_w: float = Field(default=0, ge=0, le=50, description="own draw [W]")


class Heater(Part):
    """Warms the air. Fuel heaters draw for their fan; electric ones for everything."""

    fuel: Fuel = Field(default="", description="fuel it burns, or none: electric")
    output_w: float = Field(gt=0, le=10000, description="heat at sea level [W]")
    efficiency: float = Field(gt=0, le=6, description="heat out per fuel energy in (or per watt) [-]")
    draw_w: float = Field(ge=0, le=5000, description="electric power at full heat [W]")
    start_wh: float = Field(default=0, ge=0, le=200, description="electric energy of a start [Wh]")
    supply: Literal["dc", "ac"] = Field(default="dc", description="what it runs from")
    dc_v: str = Field(default="12", description="DC voltages it takes")
    altitude_max_m: float = Field(default=6000, ge=0, le=9000, description="works up to [m]")
    room_sealed: bool = Field(description="air and exhaust led outside (true) or open flame (false)")


class FuelTank(Part):
    """A tank or bottle: liquid fuel, gas or spirit."""

    fuel: Literal["diesel", "petrol", "kerosene", "propane", "alcohol"] = Field(description="what it holds")
    volume_l: float = Field(gt=0, le=200, description="usable volume [L]")


class WaterContainer(Part):
    """Fresh water, carried or fixed."""

    volume_l: float = Field(gt=0, le=500, description="usable volume [L]")
    fixed: bool = Field(description="built in (true) or carried (false)")
    at_most: int = Field(default=6, ge=1, le=20, description="how many of it at most")


class GreyContainer(Part):
    """Waste water."""

    volume_l: float = Field(gt=0, le=500, description="usable volume [L]")
    at_most: int = Field(default=4, ge=1, le=20, description="how many of it at most")


class Toilet(Part):
    """A toilet, and what a visit costs in things used up."""

    visits: float = Field(gt=0, le=1000, description="visits before it must be emptied (with its spare)")
    usd_per_visit: float = Field(default=0, ge=0, le=5, description="bags, bulking, fluid [USD]")
    kg_per_visit: float = Field(default=0, ge=0, le=2, description="bags, bulking, fluid carried [kg]")
    water_l_per_visit: float = Field(default=0, ge=0, le=5, description="fresh water flushed [L]")


class ColdBox(Part):
    """A refrigerator, freezer or both."""

    style: Literal["chest", "upright", "drawer", "passive"] = Field(description="how it opens")
    chilled_l: float = Field(ge=0, le=400, description="room for chilled food [L]")
    frozen_l: float = Field(ge=0, le=400, description="room for frozen food [L]")
    wh_day_25: float = Field(ge=0, le=5000, description="energy a day at 25 degC around it [Wh]")
    wh_day_32: float = Field(ge=0, le=5000, description="energy a day at 32 degC around it [Wh]")
    peak_w: float = Field(ge=0, le=500, description="power while the compressor runs [W]")
    dc_v: str = Field(default="12|24", description="DC voltages it takes")
    supply: Literal["dc", "ac"] = Field(default="dc", description="what it runs from")


class Cooker(Part):
    """Cooks, with power or with fuel."""

    abilities: str = Field(description="what it can do")
    fuel: Fuel = Field(default="", description="fuel it burns, or none: electric")
    supply: Literal["dc", "ac"] = Field(default="ac", description="what an electric one runs from")
    power_w: float = Field(gt=0, le=4000, description="electric power or heat of the flame [W]")
    starting_w: float = Field(default=0, ge=0, le=8000, description="power for a moment [W]")
    efficiency: float = Field(gt=0, le=1, description="useful heat per energy in [-]")
    dc_v: str = Field(default="12", description="DC voltages it takes")
    while_driving: bool = Field(default=False, description="may run while driving")


class RoofFan(Part):
    """Moves air out through the roof."""

    draw_w: float = Field(ge=0, le=200, description="power at the usual speed [W]")
    airflow_m3_h: float = Field(gt=0, le=5000, description="air it moves [m3/h]")
    dc_v: str = Field(default="12", description="DC voltages it takes")


class Insulation(Part):
    """A way to insulate walls, roof and floor; price and mass are for each square metre."""

    material: str = Field(min_length=1, max_length=60, description="what it is made of")
    thickness_mm: float = Field(ge=0, le=200, description="thickness fitted; 0 insulates nothing [mm]")
    conductivity_w_mk: float = Field(gt=0, le=1, description="thermal conductivity [W/(m K)]")
    covered_share: float = Field(gt=0, le=1, description="share of the surface it covers; ribs stay bare [-]")


class SafetyItem(Part):
    """Alarms, extinguisher, disconnect: one of each role is never optional."""

    role: Literal["co_alarm", "smoke_alarm", "extinguisher", "disconnect", "main_fuse", "fuse_box", "gas_alarm"] = (
        Field(description="what it does")
    )
    rating_a: float = Field(default=0, ge=0, le=2000, description="current it carries [A], or 0")
    bank_v_max: float = Field(default=60, gt=0, le=1000, description="highest bank voltage [V]")
    interrupt_a: float = Field(
        default=0, ge=0, le=200_000, description="fault current a main fuse breaks safely [A], or 0"
    )
    ways: int = Field(default=0, ge=0, le=60, description="circuits a fuse box feeds, or 0")
    draw_w: float = Field(default=0, ge=0, le=50, description="draw of a wired alarm, day and night [W], or 0")


class Cable(Part):
    """Cable by the metre: price and mass are for one metre of it."""

    use: Literal["dc", "solar", "mains"] = Field(
        description="one core inside (dc), one core for the roof (solar), all cores in a sheath (mains)"
    )
    size: str = Field(min_length=1, max_length=20, description="conductor, such as '16 mm2' or 'AWG 4'")
    insulation_c: float = Field(ge=60, le=200, description="temperature its insulation stands [degC]")


class Fuse(Part):
    """A fuse link without its holder."""

    style: Literal["blade", "bolted", "solar"] = Field(description="how it is held")
    rating_a: float = Field(gt=0, le=1000, description="rating [A]")
    volts_max: float = Field(gt=0, le=1500, description="highest voltage it breaks [V]")
    interrupt_a: float = Field(gt=0, le=200_000, description="fault current it breaks safely [A]")


class Fitting(Part):
    """The small parts nobody puts on the list: lugs, holders, busbars, glands, sealant, gas and fuel line."""

    role: Literal[
        "lug", "fuse_holder", "busbar", "array_switch", "solar_plug", "gland", "sealant", "conduit", "clips",
        "battery_strap", "hookup_lead", "hookup_inlet", "mains_board", "mains_socket",
        "gas_pipe", "gas_valve", "fuel_line", "fuel_filter", "exhaust_sleeve", "water_hose", "waste_hose", "tape",
    ] = Field(description="what it does")  # fmt: skip
    rating_a: float = Field(default=0, ge=0, le=1000, description="current it carries [A], or 0")
    volts_max: float = Field(default=1000, gt=0, le=1500, description="highest voltage [V]")
    area_mm2: float = Field(default=0, ge=0, le=300, description="thickest conductor it takes [mm2], or 0")
    style: Literal["", "blade", "bolted", "solar"] = Field(default="", description="fuses that a holder takes")
    unit: Literal["piece", "m"] = Field(default="piece", description="sold by the piece or by the metre")


KINDS: dict[str, type[Part]] = {
    "battery": Battery,
    "cell_manager": CellManager,
    "solar_panel": SolarPanel,
    "charge_controller": ChargeController,
    "alternator_charger": AlternatorCharger,
    "mains_charger": MainsCharger,
    "inverter": Inverter,
    "dc_converter": DcConverter,
    "heater": Heater,
    "fuel_tank": FuelTank,
    "water_container": WaterContainer,
    "grey_container": GreyContainer,
    "toilet": Toilet,
    "cold_box": ColdBox,
    "cooker": Cooker,
    "roof_fan": RoofFan,
    "insulation": Insulation,
    "safety": SafetyItem,
    "cable": Cable,
    "fuse": Fuse,
    "fitting": Fitting,
}


class OwnPart(BaseModel):
    """A row of a kind of the author's own: any further numeric columns are kept in ``columns``."""

    model_config = ConfigDict(frozen=True, allow_inf_nan=False)

    id: str = Field(pattern=ID, max_length=60, description="unique over all kinds")
    name: str = Field(min_length=1, max_length=120, description="what a person calls it")
    price_usd: float = Field(default=0, ge=0, le=100_000, description="price of one [USD]")
    mass_kg: float = Field(default=0, ge=0, le=1000, description="mass of one [kg]")
    length_mm: float = Field(default=0, ge=0, le=6000, description="outer length [mm]")
    width_mm: float = Field(default=0, ge=0, le=3000, description="outer width [mm]")
    height_mm: float = Field(default=0, ge=0, le=3000, description="outer height [mm]")
    bay_tags: str = Field(default="", max_length=80, description="where it may live, as for any part")
    skill: Skill = Field(default="", description="skill it asks for")
    columns: dict[str, float] = Field(default_factory=dict)

"""The warning of water condensing on the lining."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.damp import damp_warning
from optimizer.job import Job, open_job
from optimizer.problem.records import Kit

EXAMPLE = Path(__file__).parent.parent / "examples" / "fjord_winter.toml"


@pytest.fixture(scope="module")
def winter() -> Job:
    """A van in a cold maritime winter."""
    return open_job(EXAMPLE)


def lined(part: str) -> Kit:
    """A kit of which only the lining matters here."""
    return Kit({"insulation": part}, 12, 7)


def test_bare_metal_drips_and_thick_lining_does_not(winter: Job) -> None:
    """At 12 degC and 60 % the dew point is 4.5 degC (Magnus): bare metal is colder in frost, 40 mm of batts are not."""
    warning = damp_warning(winter, lined("ins-none"))
    assert warning is not None
    assert "water will condense" in warning
    assert "the inside of the unlined walls falls to" in warning
    assert "lining" not in warning
    thin = damp_warning(winter, lined("ins-cork-10"))
    assert thin is not None
    assert "the lining's inner face falls to" in thin
    assert damp_warning(winter, lined("ins-pet-40")) is None


def test_no_heating_no_warning(winter: Job) -> None:
    """Without heating the inside is as cold as the outside, and there is no dew point to fall below."""
    comfort = winter.brief.comfort.model_copy(update={"heating": False})
    cold = replace(winter, brief=winter.brief.model_copy(update={"comfort": comfort}))
    assert damp_warning(cold, lined("ins-none")) is None

"""Brief + parts + weather -> Problem: frozen, integers, every coefficient already computed."""

"""Constants of the claims part: each with its unit, where it comes from and how sure that is."""

from __future__ import annotations

from typing import Any

import pytest

from leadoff.claims.rows import table

ROWS: list[tuple[str, dict[str, Any]]] = [
    (f"{file} {name}", row)
    for file in ("limits", "search")
    for name, row in (*table(file).items(), *table(file).get("weights", {}).items())
    if name != "weights"
]


@pytest.mark.parametrize(("name", "row"), ROWS, ids=[n for n, _ in ROWS])
def test_a_constant_says_what_it_is(name: str, row: dict[str, Any]) -> None:
    assert set(row) == {"value", "unit", "source", "certainty"}, name
    assert isinstance(row["value"], (int, float))
    assert len(row["source"]) > 20
    assert row["unit"]
    assert row["certainty"] in ("published", "practice", "judgement", "memory")


def test_every_constant_of_the_search_is_used() -> None:
    from importlib.resources import files

    code = "".join(
        p.read_text(encoding="utf-8")
        for p in files("leadoff.claims").joinpath("search").iterdir()  # type: ignore[attr-defined]
        if p.name.endswith(".py")
    )
    seals = {"board", "named", "workload", "setting", "figure"}
    unused = [
        n
        for n in table("search")
        if n != "weights" and n.removeprefix("seal_") not in seals and f'"{n}"' not in code
    ]
    assert unused == []
    assert [n for n in table("search")["weights"] if f"W.{n}" not in code] == []

"""Counts, hours and climbs to a figure in ordinary speech, by families (ours; common speech, no source)."""

from __future__ import annotations

from itertools import product

from ear import Ear


def test_counts(ear: Ear) -> None:
    three = (
        "three of five",
        "three out of five",
        "3 of 5",
        "3/5",
        "three in five",
        "three of the five",
        "3 out of 5",
    )
    for said, what in product(three, ("cold starts", "starts", "copies")):
        (n,) = ear.said(f"The Alder managed {said} {what}.").nums
        assert (n.kind, n.value, n.of) == ("count", 3.0, 5.0), said
    every = ("sixty out of sixty", "sixty of sixty", "60 of 60", "60/60", "sixty for sixty")
    for said in every:
        (n,) = ear.said(f"{said.capitalize()} copies.").nums
        assert (n.kind, n.value, n.of) == ("count", 60.0, 60.0), said
    others = {
        "None of the five cold starts worked.": (0, 5),
        "Not one of the five starts was good.": (0, 5),
        "One in ten starts fails.": (1, 10),
        "One copy of the sixty came back wrong.": (1, 60),
        "Two of the sixty copies were bad.": (2, 60),
        "All but one of the five starts.": (4, 5),
        "All but two of the ten starts.": (8, 10),
        "Half of the ten starts.": (5, 10),
        "Nine times out of ten.": (9, 10),
    }
    for text, (value, of) in others.items():
        (n,) = ear.said(text).nums
        assert (n.kind, n.value, n.of) == ("count", value, of), text
    for text in (
        "All sixty were clean.",
        "Every one of the sixty was clean.",
        "Each one of its sixty was clean.",
    ):
        (n,) = ear.said(text).nums
        assert (n.kind, n.value) == ("all", 60.0), text
    for text in ("It gave three beeps.", "It beeped three times.", "3 beeps."):
        (n,) = ear.said(text).nums
        assert (n.kind, n.value) == ("beeps", 3.0), text


def test_hours(ear: Ear) -> None:
    ways = {
        12: (
            "twelve hours",
            "12 hours",
            "12h",
            "12 hrs",
            "a dozen hours",
            "twelve-hour stretches",
            "half a day",
        ),
        24: ("24 hours straight", "a full 24", "a whole day", "twenty-four hours"),
        48: ("two days", "2 full days", "48 hours"),
        36: ("a day and a half", "thirty-six hours"),
    }
    for hours, said in ((h, s) for h, every in ways.items() for s in every):
        found = [(n.kind, n.value) for n in ear.said(f"The Larch soaked for {said}.").nums]
        assert found == [("hours", hours)], (said, found)
    assert ear.said("The Larch soaked overnight.").nums == []
    for said in (
        "3:20 in",
        "3h20 in",
        "three hours twenty in",
        "three hours and twenty minutes in",
        "3h 20m in",
    ):
        assert "3:20" in ear.said(f"It hung {said}.").low, said


def test_going_up_to_a_figure_is_no_bound(ear: Ear) -> None:
    for text in ("It went up to 40.", "I pushed it up to 40.", "It climbed up to 40."):
        (n,) = ear.said(text).nums
        assert (n.value, n.mod) == (40.0, ""), text
    (n,) = ear.said("It reads up to 40 frames.").nums
    assert n.mod == "under"

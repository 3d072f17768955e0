"""An ailing board in words: what to do next first, then why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.show.terminal import hang, heading
from leadoff.show.text import chance, minutes, number

LIKELY = 0.3
"""A repair is printed from this chance on; before, the tests come first (the JSON has it always)."""
LEADS = 0.25
"""A result of a test names the causes that would be this likely to be there then, when it raises them."""
RAISED = 1.3
WORTH_NAMING = 0.005
"""Causes below this chance are left out of the words; the JSON has them."""
MOST_RESULTS = 4

MODES = {
    "several": "several faults may be there at once",
    "exactly_one": "exactly one fault is there, as you said",
}
SKILLS = {
    1: "a screwdriver's skill",
    2: "easy soldering",
    3: "through-hole rework",
    4: "fine wire and traces",
    5: "fine-pitch hot air",
}


def sick(data: Mapping[str, Any], out: Console) -> None:
    """Tests, causes, repair, what to save first."""
    heading(out, data["board"], data["understood"])
    for typed, read in data.get("respelt", {}).items():
        out.print(hang(Text("  read: ", style="yellow"), f'"{typed}" as "{read}"', out.width))
    for code in data.get("codes", ()):
        family = code["family"].replace("_", " ")
        text = f"{code['code']} ({family}): {code['meaning']}; the step that was last started"
        out.print(hang(Text("  code: ", style="dim"), text, out.width))
    if data["no_power"]:
        text = f"{'; '.join(data['no_power'])}: see the red lines at the end"
        _line(out, "  no power on this board yet: ", "bold red", text)
    for guard in data["save_first"]:
        _line(out, "  save first: ", "bold yellow", f"{guard['what']} ({guard['why']})")
    names = {t["test"]: t["name"] for t in data["tests"]}
    tests = data["tests"]
    for text in data["look_first"]:
        if data["stop"] or not any(text.startswith(t["name"]) for t in tests):
            _line(out, "  look first: ", "bold", text)
    if data["stop"]:
        _line(out, "  now: ", "bold", data["stop"])
    for n, test in enumerate(tests, start=1):
        _test(n, test, data, names, out)
    _causes(data, out)
    if data["repair"] is not None and (data["repair"]["p_cause"] >= LIKELY or data["stop"]):
        _repair(data["repair"], out)
    for c in data["contradictions"]:
        _line(out, "  do not go together: ", "yellow", c["text"])
    for text in data["set_aside"]:
        _line(out, "  set aside: ", "dim", text)
    for b in data["blocked"][:2]:
        _line(out, "  would help, but: ", "dim", f"{b['name']}: {b['why']}")
    _open(data["open_symptoms"], out)


def _open(symptoms: Sequence[Mapping[str, Any]], out: Console) -> None:
    """Open complaints; those that close in the same way stand together."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for s in symptoms:
        groups.setdefault(tuple(s["accept"]), []).append(s["name"])
    for accept, names in groups.items():
        _line(out, "  open: ", "", "; ".join(names))
        if accept:
            _line(out, "    closed by: ", "dim", "; ".join(accept))


def _line(out: Console, head: str, style: str, text: str) -> None:
    out.print(hang(Text(head, style=style), text, out.width))


def _test(
    n: int,
    test: Mapping[str, Any],
    data: Mapping[str, Any],
    names: Mapping[str, str],
    out: Console,
) -> None:
    causes, own_table = data["explanations"], data["method"] == "table"
    tools = ", ".join(t.replace("_", " ").replace("|", " or ") for t in test["tools"])
    cost = ", ".join(x for x in (minutes(test["minutes"]), tools) if x)
    out.print(hang(Text(f"  {n}. ", style="bold"), f"{test['name']} ({cost})", out.width))
    if test["needs"]:
        before = "; ".join(names.get(t, t) for t in test["needs"])
        _line(out, "     only after: ", "bold", f"{before} (and only when that reads normal)")
    if test["how"]:
        _line(out, "     do: ", "", test["how"])
    if test["expect"] not in ("", "-"):
        _line(out, "     expect: ", "dim", test["expect"])
    for result in test["results"][:MOST_RESULTS]:
        _result(result, causes, out)
    _line(out, "     why: ", "dim", _why(test, own_table=own_table))
    for caution in test["cautions"]:
        _care(caution, out)


def _why(test: Mapping[str, Any], *, own_table: bool) -> str:
    if own_table:
        return f"its cause's chance for each minute: {number(test['worth_per_minute'], 3)}"
    opens = "; counted with the tests that it clears the way for" if test["opens"] else ""
    return f"saves about {number(test['worth_per_minute'], 2)} min of hunting for each minute spent{opens}"


def _result(result: Mapping[str, Any], causes: Sequence[Mapping[str, Any]], out: Console) -> None:
    text = f"{result['result'].replace('_', ' ')} ({chance(result['p'])})"
    now = {c["fault"]: c["p_blocks"] for c in causes}
    leads = [x for x in result["leads"] if x["p_blocks"] >= max(LEADS, RAISED * now.get(x["fault"], 0.0))]
    if leads:
        text += ": then " + ", ".join(f"{x['name']} {chance(x['p_blocks'])}" for x in leads[:2])
    _line(out, "     if ", "dim", text)


def _care(caution: Mapping[str, Any], out: Console, indent: str = "     ") -> None:
    _line(out, f"{indent}care: ", "bold red" if caution["severity"] >= 3 else "yellow", caution["text"])


def _causes(data: Mapping[str, Any], out: Console) -> None:
    """What may be wrong. Alone: curing it makes it right; at all: it is a cause, alone or beside others."""
    causes = data["explanations"]
    none = data["symptom"] == "none"
    several = data["mode"] == "several" and not none
    out.print(f"  [dim]what may be wrong ({MODES.get(data['mode'], data['mode'])})[/dim]")
    if none:
        why = "nothing seen since the repair" if data["open_symptoms"] else "no symptom is open"
        out.print(f"  [dim]{why}: the chances are that the fault is there at all[/dim]")
    elif several:
        out.print(f"  [dim]{'the only cause':>16}  {'a cause at all':>14}[/dim]")
    shown = [
        c for c in causes[:5] if c["p_cause"] >= WORTH_NAMING or c["p_blocks"] >= 2 * WORTH_NAMING or none
    ]
    for cause in shown or causes[:1]:
        if none:
            head = Text(f"  {chance(cause['p_present']):>16}  ")
        elif several:
            head = Text(f"  {chance(cause['p_cause']):>16}  {chance(cause['p_blocks']):>14}  ")
        else:
            head = Text(f"  {chance(cause['p_cause']):>16}  ")
        out.print(hang(head, cause["name"], out.width))
    if several:
        _rest(data, out)


def _rest(data: Mapping[str, Any], out: Console) -> None:
    others = 1 - sum(c["p_cause"] for c in data["explanations"][:5]) - data["other_p"]
    for p, text in (
        (others, "one of the rarer causes, alone"),
        (
            data["several_p"],
            "several causes together: curing one is not enough, test again after each repair",
        ),
        (data["unlisted_p"], "something that is in no table"),
    ):
        if p >= 0.005:
            out.print(hang(Text(f"  {chance(p):>16}  {'':14}  "), text, out.width))


def _repair(repair: Mapping[str, Any], out: Console) -> None:
    cost = f", parts about {number(repair['parts_cost'], 2)} coin cells" if repair["parts_cost"] else ""
    text = (
        f"{repair['action']} ({minutes(repair['minutes'])}{cost}, {SKILLS.get(repair['skill'], '')}, "
        f"works {chance(repair['success'])} of the time)"
    )
    _line(out, "  repair: ", "bold", text)
    for caution in repair["cautions"]:
        _care(caution, out, "    ")
    if not repair["reversible"]:
        _line(out, "    cannot be undone: ", "yellow", ", ".join(repair["undone"]) or "this")
    for way in repair["ways"]:
        back = "can be undone" if way["reversible"] else "cannot be undone"
        due = f", due again about {way['due_year']}" if way["due_year"] else ""
        price = f"about {number(way['cost'], 2)} coin cells"
        _line(out, "    way: ", "dim", f"{way['name']}: {minutes(way['minutes'])}, {price}, {back}{due}")
    if repair["substitute"]:
        _line(out, "    what else fits: ", "dim", f"leadoff substitute {repair['substitute']}")
    if repair["accept"]:
        _line(out, "    accepted when: ", "", "; ".join(repair["accept"]))
    if repair["retest"]:
        _line(out, "    see again: ", "", "; ".join(repair["retest"]))

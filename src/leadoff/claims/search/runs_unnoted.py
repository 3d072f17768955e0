"""Settings of a run that nobody wrote down: which, how many, or that there are none."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.claims.search.runs_scene import Claimed, Scene
from leadoff.claims.search.runs_select import Asked, select
from leadoff.claims.search.runs_words import counts, says
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.values import Num
from leadoff.claims.values import Trial


def unnoted(
    words: Sequence[Word], low: str, whole: Asked, pool: Sequence[Trial], scene: Scene
) -> Claimed | None:
    """The verdict on a clause about what is known of a run; ``None`` where it is no such clause, or where it is not
    plain which run is meant."""
    unknown = says("unnoted").search(low) is not None
    if not unknown and not (says("noted").search(low) and says("settings").search(low)):
        return None
    said = scene.said
    runs = _meant(pool, scene)
    if len(runs) != 1:
        return None
    run = runs[0]
    names = [n for w in words if w.sign[:1] == "s" for n in said.want(w.sign).names]
    blank = [n for n, v in run.settings.items() if v is None]
    why = f"run {run.number}: not written down: {', '.join(blank) or 'nothing'}"
    numbers = [said.num(w.sign) for w in words if w.sign[:1] == "n" and counts(said.num(w.sign))]
    numbers += [
        Num("bare", 1.0)
        for i, w in enumerate(words)
        if w.text in ("one", "1") and i + 1 < len(words) and words[i + 1].of("state")
    ]
    if names:
        hits = [n in blank for n in names if n in run.settings or n in blank]
        if not hits:
            return None
        ok = all(hits) if unknown else not any(hits)
    elif numbers:
        ok = len(numbers) == 1 and (len(blank) == numbers[0].value) and unknown
        if not unknown:
            return None
    elif says("whole").search(low):
        denied = any(w.of("deny") for w in words)
        ok = (not blank) != (unknown and not denied) if not (unknown and denied) else not blank
    elif says("settings").search(low):
        ok = bool(blank) == unknown
    else:
        return None
    return Claimed(ok=ok, why=why, runs=(run,))


def _meant(pool: Sequence[Trial], scene: Scene) -> Sequence[Trial]:
    numbered = [t for r in scene.said.runs if (t := scene.talk.evidence.by_number.get(r)) is not None]
    if numbered:
        return numbered
    if scene.last is not None and len(scene.last) == 1:
        return scene.last
    if not scene.told:
        return ()
    return select(pool, Asked()) if len(pool) == 1 else ()

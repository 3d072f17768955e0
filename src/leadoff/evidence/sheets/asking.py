"""Questions that settle many rows at once; rows wait for them and are never guessed."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.evidence.facts import Choice, Question

MOST_QUESTIONS = 3
SKIP = Choice(key="skip", text="leave these rows out")


class Asker:
    """Gathers what has to be asked, with the answers that were given."""

    def __init__(self, answers: Mapping[str, str]) -> None:
        self.answers = answers
        self.asked: dict[str, tuple[str, tuple[Choice, ...]]] = {}
        self.places: dict[str, list[str]] = {}

    def need(self, id_: str, text: str, choices: tuple[Choice, ...], example: str) -> str | None:
        """The key of the answer when there is one; otherwise the question is noted with its example."""
        given = self.answers.get(id_)
        if given is not None and given in {c.key for c in choices}:
            return given
        self.asked[id_] = (text, choices)
        self.places.setdefault(id_, []).append(example)
        return None

    def order(self) -> list[str]:
        """Ids of the questions, those that settle most first."""
        return sorted(self.asked, key=lambda i: (-len(self.places[i]), i))

    def questions(self, file: str) -> tuple[Question, ...]:
        """The few that are put to the person."""
        out = []
        for id_ in self.order()[:MOST_QUESTIONS]:
            text, choices = self.asked[id_]
            examples = tuple(dict.fromkeys(self.places[id_]))[:3]
            out.append(
                Question(id=id_, text=text, choices=choices, places=len(self.places[id_]), examples=examples)
            )
        return tuple(out)

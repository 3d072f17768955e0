"""Print the share of catalogue values and rows per certainty. CI runs it, so that the share is seen to move.

Usage: python tools/catalogue_share.py
"""

from __future__ import annotations

from leadoff.catalogue import Certainty, load
from leadoff.catalogue.share import Share, shares

WORDS = [c for c in Certainty if c is not Certainty.DECLARED]


def line(share: Share) -> str:
    """Rows, values and the percentage of values of each certainty."""
    parts = [f"{100 * share.by_value[w] / share.values:5.1f} %" if share.values else "    -  " for w in WORDS]
    return f"{share.kind:<11}{share.rows:>6}{share.values:>8}  " + "  ".join(f"{p:>10}" for p in parts)


def main() -> None:
    """Print the table and the rows by weakest value."""
    found = shares(load())
    head = f"{'kind':<11}{'rows':>6}{'values':>8}  "
    print(head + "  ".join(f"{w.value:>10}" for w in WORDS))
    for share in found:
        print(line(share))
    total = found[-1]
    print("rows by their least certain value: ", end="")
    print(
        ", ".join(f"{w.value} {total.by_weakest[w]} ({total.by_weakest[w] / total.rows:.0%})" for w in WORDS)
    )


if __name__ == "__main__":
    main()

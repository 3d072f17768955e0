"""What a program can see of ISO 14289-1 (PDF/UA-1) in a file: structure tree, marked content, alternative texts."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import pypdf


class Node(NamedTuple):
    """One element of the structure tree."""

    kind: str
    element: dict[str, Any]
    kids: list[Node]
    depth: int

    def walk(self) -> Iterator[Node]:
        yield self
        for kid in self.kids:
            yield from kid.walk()

    def below(self, *kinds: str) -> list[Node]:
        return [n for n in self.walk() if n.kind in kinds]


def tree(pdf: pypdf.PdfReader) -> Node:
    """The structure tree; marked content and object references are left out."""
    return _node(pdf.trailer["/Root"]["/StructTreeRoot"], 0)


def _node(element: Any, depth: int) -> Node:
    at = element.get_object()
    kids = at.get("/K", [])
    kids = kids.get_object() if hasattr(kids, "get_object") else kids
    found = []
    for kid in kids if isinstance(kids, list) else [kids]:
        made = kid.get_object() if hasattr(kid, "get_object") else kid
        if isinstance(made, dict) and "/S" in made:
            found.append(_node(made, depth + 1))
    return Node(str(at.get("/S", "/Root")), at, found, depth)


def unmarked(page: pypdf.PageObject) -> list[str]:
    """Painting operators of a page outside any marked content: nobody would hear of what they paint."""
    depth, bad = 0, []
    stream = pypdf.generic.ContentStream(page.get_contents(), page.pdf)
    for _, operator in stream.operations:
        if operator in (b"BDC", b"BMC"):
            depth += 1
        elif operator == b"EMC":
            depth -= 1
        elif depth == 0 and operator in (b"Tj", b"TJ", b"'", b'"', b"f", b"f*", b"S", b"B", b"Do", b"sh"):
            bad.append(operator.decode())
    return bad


def faults(path: Path) -> list[str]:
    """What breaks the rules, in words; empty when nothing was found."""
    pdf = pypdf.PdfReader(path)
    root, out = pdf.trailer["/Root"], []
    info = root["/Metadata"].get_data().decode("utf-8", "replace")
    title = re.search(r"<dc:title>.*?<rdf:li[^>]*>(.*?)</rdf:li>", info, re.S)
    claims = {
        "no language": root.get("/Lang") == "en",
        "not marked as tagged": _true(root, "/MarkInfo", "/Marked"),
        "the title is not shown": _true(root, "/ViewerPreferences", "/DisplayDocTitle"),
        "it does not say that it is PDF/UA-1": bool(re.search(r"pdfuaid:part(>|=\")1", info)),
        "no title in its metadata": title is not None and len(title[1]) > 5,
        "text cannot be read out": all(
            "/ToUnicode" in f.get_object()
            for p in pdf.pages
            for f in (p["/Resources"].get("/Font") or {}).get_object().values()
        ),
        "pages are not read in the order of their structure": all(
            p.get("/Tabs") == "/S" for p in pdf.pages if "/Annots" in p
        ),
        "no way from content back to its element": "/ParentTree" in root["/StructTreeRoot"],
    }
    out += [why for why, right in claims.items() if not right]
    for n, page in enumerate(pdf.pages, start=1):
        out += [f"page {n}: {count} {op} outside any tag" for op, count in Counter(unmarked(page)).items()]
        out += [] if "/StructParents" in page else [f"page {n} has no structure"]
    return out + structure_faults(tree(pdf))


def _true(root: Any, first: str, then: str) -> bool:
    found = root.get(first, {}).get(then)
    return found is not None and bool(found.value)


def structure_faults(top: Node) -> list[str]:
    """Rules of the tree alone."""
    out = []
    heads = [int(n.kind[2:]) for n in top.walk() if re.fullmatch(r"/H\d", n.kind)]
    if heads.count(1) != 1 or heads[0] != 1 or any(b > a + 1 for a, b in pairwise(heads)):
        out.append(f"headings go {heads}")
    for figure in top.below("/Figure", "/Formula"):
        out += [] if str(figure.element.get("/Alt", "")).strip() else ["a figure has no words"]
    for table in top.below("/Table"):
        rows = [[c for c in r.kids if c.kind in ("/TH", "/TD")] for r in table.below("/TR")]
        widths = {sum(_attribute(c, "/ColSpan", 1) for c in row) for row in rows}
        out += [] if len(widths) == 1 else [f"a table has rows of {sorted(widths)} cells"]
        heads_of = [c for row in rows for c in row if c.kind == "/TH"]
        out += [] if heads_of else ["a table has no header cell"]
        out += ["a header cell has no scope" for c in heads_of if not _attribute(c, "/Scope", None)]
    for item in top.below("/L"):
        out += [] if all(k.kind in ("/LI", "/Caption") for k in item.kids) else ["a list holds no items"]
    for item in top.below("/LI"):
        out += [] if {k.kind for k in item.kids} <= {"/Lbl", "/LBody"} else ["an item is no item"]
    for cell in top.below("/TR", "/LBody", "/TH", "/TD"):
        inside = {"/TR": ("/TH", "/TD")}.get(cell.kind)
        out += [f"{cell.kind} holds {k.kind}" for k in cell.kids if inside and k.kind not in inside]
    return out


def _attribute(node: Node, name: str, default: Any) -> Any:
    kept = node.element.get("/A")
    for each in kept if isinstance(kept, list) else [kept]:
        at = each.get_object() if hasattr(each, "get_object") else each
        if isinstance(at, dict) and name in at:
            return at[name]
    return default

"""A slow cache written another way (recursive, dictionaries), to set the compiled filters against."""

from __future__ import annotations

from collections import Counter

from leadoff.memory.geometry import Cache, Hierarchy, Policy, Replacement


class PlainMemory:
    def __init__(self) -> None:
        self.asked: list[tuple[str, int]] = []

    def read(self, address: int, size: int) -> None:
        self.asked.append(("read", address))

    def write(self, address: int, size: int) -> None:
        self.asked.append(("write", address))

    def take_back(self, address: int, size: int) -> None:
        self.asked.append(("victim", address))


class PlainTree:
    """The order of a set under the tree: which half of each pair of halves was used last, by path."""

    def __init__(self, ways: int) -> None:
        self.ways: list[list[int] | None] = [None] * ways
        self.later: dict[tuple[int, int], bool] = {}

    def use(self, entry: list[int]) -> None:
        at = next(k for k, e in enumerate(self.ways) if e is entry)
        low, size = 0, len(self.ways)
        while size > 1:
            half = size // 2
            self.later[low, size] = at >= low + half
            low, size = (low + half if at >= low + half else low), half

    def take(self, entry: list[int]) -> list[int] | None:
        """Puts an entry in; returns what it replaced."""
        low, size = 0, len(self.ways)
        if None in self.ways:
            low = self.ways.index(None)
        else:
            while size > 1:
                half = size // 2
                low, size = (low if self.later.get((low, size), False) else low + half), half
        old = self.ways[low]
        self.ways[low] = entry
        self.use(entry)
        return old


class PlainRandom:
    """Random ways: an empty one first, else one drawn by a generator that all sets of a cache share.

    Xorshift of 32 bits with shifts 13, 17, 5 (Marsaglia, Journal of Statistical Software 8(14), 2003, from memory),
    its top bits scaled to the number of ways; the seed is ours.
    """

    def __init__(self, seed: int) -> None:
        self.number = (seed * 2654435761 + 1) % 2**32 or 1
        self.ways: dict[int, list[list[int]]] = {}

    def take(self, cache: Cache, entry: list[int]) -> list[int] | None:
        ways = self.ways.setdefault(entry[0] % cache.sets, [])
        if len(ways) < cache.ways:
            ways.append(entry)
            return None
        bits = f"{self.number:032b}"
        bits = xor(bits, bits[13:] + "0" * 13)
        bits = xor(bits, "0" * 17 + bits[:15])
        bits = xor(bits, bits[5:] + "0" * 5)
        self.number = int(bits, 2)
        at = int(self.number / 2**32 * cache.ways)
        old, ways[at] = ways[at], entry
        return old


def xor(a: str, b: str) -> str:
    return "".join("01"[x != y] for x, y in zip(a, b, strict=True))


class PlainCache:
    """Sets are lists of [line, dirty], next to go last; under the tree order beside them who stands where."""

    def __init__(self, cache: Cache, behind: PlainCache | PlainMemory) -> None:
        self.c, self.behind = cache, behind
        self.sets: dict[int, list[list[int]]] = {}
        self.trees: dict[int, PlainTree] = {}
        self.random = PlainRandom(cache.seed)
        self.n: Counter[str] = Counter()

    def pieces(self, address: int, size: int) -> list[tuple[int, int]]:
        out = []
        while size > 0:
            part = min(size, self.c.line_bytes - address % self.c.line_bytes)
            out.append((address, part))
            address, size = address + part, size - part
        return out

    def outside(self, address: int) -> bool:
        return self.c.cacheable_kb is not None and address >= self.c.cacheable_kb * 1024

    def find(self, line: int) -> tuple[list[list[int]], list[int] | None]:
        held = self.sets.setdefault(line % self.c.sets, [])
        return held, next((e for e in held if e[0] == line), None)

    def renew(self, held: list[list[int]], entry: list[int], load: bool) -> None:
        order = self.c.replacement
        if order is Replacement.TREE:
            self.trees[entry[0] % self.c.sets].use(entry)
        if order is Replacement.LRU or (order is Replacement.LRU_READS and load):
            held.remove(entry)
            held.insert(0, entry)

    def bring(self, line: int, dirty: bool, fetch: bool) -> None:
        held, _ = self.find(line)
        if fetch:
            self.n["fills"] += 1
            self.behind.read(line * self.c.line_bytes, self.c.line_bytes)
        new = [line, int(dirty)]
        gone = None
        if self.c.replacement is Replacement.TREE:
            gone = self.trees.setdefault(line % self.c.sets, PlainTree(self.c.ways)).take(new)
        elif self.c.replacement is Replacement.RANDOM:
            gone = self.random.take(self.c, new)
        if gone is not None:
            held.append(held.pop(next(k for k, e in enumerate(held) if e is gone)))
        if len(held) == self.c.ways:
            old, was_dirty = held.pop()
            if self.c.policy is Policy.WRITE_BACK and (was_dirty or not self.c.dirty_bit):
                self.n["victims_out"] += 1
                self.behind.take_back(old * self.c.line_bytes, self.c.line_bytes)
        held.insert(0, new)

    def read(self, address: int, size: int) -> None:
        for a, part in self.pieces(address, size):
            if self.outside(a):
                self.n["bypassed"] += 1
                self.behind.read(a, part)
                continue
            self.n["reads"] += 1
            held, entry = self.find(a // self.c.line_bytes)
            if entry is not None:
                self.renew(held, entry, True)
            else:
                self.n["read_misses"] += 1
                self.bring(a // self.c.line_bytes, False, True)

    def write(self, address: int, size: int) -> None:
        for a, part in self.pieces(address, size):
            self.store(a, part, "write")

    def take_back(self, address: int, size: int) -> None:
        for a, part in self.pieces(address, size):
            self.store(a, part, "victim")

    def store(self, a: int, part: int, what: str) -> None:
        if self.outside(a):
            self.n["bypassed"] += 1
            self.pass_on(a, part, what)
            return
        back = self.c.policy is Policy.WRITE_BACK
        self.n["writes" if what == "write" else "victims_in"] += 1
        line = a // self.c.line_bytes
        held, entry = self.find(line)
        if entry is not None:
            self.renew(held, entry, False)
            if back:
                entry[1] = 1
        else:
            self.n["write_misses" if what == "write" else "victim_misses"] += 1
            if self.c.allocate:
                whole = what == "victim" and part == self.c.line_bytes and not self.c.fetch_victims
                self.bring(line, back, not whole)
        if not back or (entry is None and not self.c.allocate):
            self.n["stores_out" if what == "write" else "victims_passed"] += 1
            self.pass_on(a, part, what)

    def pass_on(self, a: int, part: int, what: str) -> None:
        if what == "write":
            self.behind.write(a, part)
        else:
            self.behind.take_back(a, part)


def plain_run(
    hierarchy: Hierarchy, trace: list[tuple[int, int, int]]
) -> tuple[list[Counter[str]], Counter[str]]:
    """Counters of each level and of the memory for (address, kind, bytes) references."""
    memory = PlainMemory()
    chain: list[PlainCache] = []
    behind: PlainCache | PlainMemory = memory
    for cache in reversed(hierarchy.levels()):
        behind = PlainCache(cache, behind)
        chain.insert(0, behind)
    for address, kind, size in trace:
        if kind == 1:
            behind.write(address, size)
        else:
            behind.read(address, size)
    return [c.n for c in chain], Counter(what for what, _ in memory.asked)

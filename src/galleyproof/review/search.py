"""The smallest change of a job that clears its findings.

Moves come from ``cures``; every set of moves is judged by asking all rules again about the changed job, never by
what a move promises. Sets are looked at in the order of their size (values changed), then of their weight, so the
first that clears everything is a smallest one of those the moves can make. Findings that no move connects are
cleared one group after the other. At the end each value is put back once: what is not needed is not proposed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import count

from galleyproof.errors import JobError
from galleyproof.findings import Finding
from galleyproof.job.model import Job
from galleyproof.job.write import dump_job
from galleyproof.review.cures import moves_for, no_cure
from galleyproof.review.edits import NEW, Move, Path, place_words, value_words
from galleyproof.review.state import Budget, Change, Key, State, key_of
from galleyproof.review.whole import Library, Review
from galleyproof.yamltext import load

__all__ = ["Change", "Cure", "Left", "find_cure"]

MAX_SITUATIONS = 80_000
"""Situations simulated before the search gives up; a large kitchen has some thousands. [-]"""
MAX_PAPERS = 400
"""Jobs designed and sized before the search gives up. [-]"""
MAX_OF_GROUP = 60
"""Jobs judged for one group of findings before the search gives it up. [-]"""
MAX_DEPTH = 4
"""Values changed for one group of findings at most. [-]"""
MAX_ROUNDS = 4
"""Times that what one round brought up is cleared by another. [-]"""


@dataclass(frozen=True, slots=True)
class Left:
    """A finding that the proposal does not clear.

    Attributes:
        finding: The finding.
        why: Why not, in words.
    """

    finding: Finding
    why: str


@dataclass(frozen=True)
class Cure:
    """A proposal, or the reasons why there is none.

    Attributes:
        changes: Values to change, in the order in which they build on each other.
        job: The job so changed.
        cleared: Errors and warnings of the job that are gone then.
        left: Errors and warnings that remain, each with the reason.
        tried: Changed jobs that were judged. [-]
        groups: Groups of findings that no change connects; each was cleared for itself. [-]
        smallest: Whether for each group every smaller change that the known moves can make was judged, and none
            sufficed.
    """

    changes: tuple[Change, ...]
    job: Job
    cleared: tuple[Finding, ...]
    left: tuple[Left, ...]
    tried: int
    groups: int
    smallest: bool


def find_cure(before: Review, library: Library, *, progress: Callable[[int], None] | None = None) -> Cure:
    """The smallest change of a job that clears all of its errors and warnings.

    Args:
        before: The job seen by every rule.
        library: Device types by name.
        progress: Told now and then how many changed jobs were judged.
    """
    return _Search(before, library, progress).run()


@dataclass(slots=True)
class _Search:
    before: Review
    library: Library
    progress: Callable[[int], None] | None
    budget: Budget = field(init=False)
    complete: bool = field(init=False, default=True)
    on_paper: bool = field(init=False, default=True)
    _states: dict[frozenset[str], State] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        proofs = max(20, MAX_SITUATIONS // max(1, self.before.proof.situations))
        places = load(dump_job(self.before.job), "job", error=JobError)
        self.budget = Budget(min(MAX_PAPERS, 12 * proofs), proofs, places, progress=self.progress)

    def run(self) -> Cure:
        start = self._state(())
        state, why = start, dict[Key, str]()
        groups: list[frozenset[Key]] = []
        for n in range(MAX_ROUNDS):
            found = list(self._groups(state, frozenset(why)))
            if found and n and self.on_paper:
                # what held on paper does not hold when simulated: once more, with everything simulated
                self.on_paper = False
                state, why = start, {}
                found = list(self._groups(state, frozenset()))
            elif n:
                self.complete = self.complete and not found
            if not found:
                break
            groups = groups or found
            for group in found:
                state = self._clear(state, group, why)
        steps = self._needed(state, frozenset(why))
        last = self._state(steps)
        left = tuple(Left(f, why.get(key_of(f), no_cure(f))) for f in last.findings)
        cleared = tuple(f for f in start.findings if key_of(f) not in last.keys)
        return Cure(steps, last.job, cleared, left, self.budget.tried, len(groups), self.complete)

    # --- one changed job --------------------------------------------------------------------------------

    def _state(self, steps: tuple[Change, ...]) -> State:
        key = frozenset(repr(s.edit) for s in steps)
        if key not in self._states:
            self._states[key] = State(self.before, self.library, steps, self.budget)
        return self._states[key]

    def _after(self, state: State, move: Move) -> tuple[Change, ...]:
        return (*state.steps, *(Change(e, move.why) for e in move.edits))

    def _moves(self, state: State, findings: Iterable[Finding]) -> list[Move]:
        return list(dict.fromkeys(m for f in findings for m in moves_for(state.papers, f)))

    # --- groups of findings -----------------------------------------------------------------------------

    def _groups(self, state: State, given_up: frozenset[Key]) -> Iterator[frozenset[Key]]:
        """Findings that moves connect: those that one edit is proposed for."""
        open_ = [f for f in state.findings if key_of(f) not in given_up]
        keys = [key_of(f) for f in open_]
        parent = {k: k for k in keys}

        def root(k: Key) -> Key:
            while parent[k] != k:
                k = parent[k]
            return k

        if len(keys) > 1:
            first: dict[str, Key] = {}
            for f in open_:
                for edit in (e for move in self._moves(state, (f,)) for e in move.edits if e.path[-1] != NEW):
                    parent[root(key_of(f))] = root(first.setdefault(repr(edit.path), key_of(f)))
        for top in dict.fromkeys(root(k) for k in keys):
            yield frozenset(k for k in keys if root(k) == top)

    # --- clearing one group -----------------------------------------------------------------------------

    def _clear(self, start: State, group: frozenset[Key], why: dict[Key, str]) -> State:
        """The cheapest state without the findings of a group and without new ones."""
        on_paper = self.on_paper and group <= start.paper_keys
        keys = start.paper_keys if on_paper else start.keys
        if not keys & group:
            return start
        allowed = keys - group
        tie = count()
        queue: list[tuple[int, float, int, tuple[Change, ...]]] = []
        cost = {frozenset(repr(s.edit) for s in start.steps): (len(start.steps), 0.0)}

        def push(state: State, weight: float) -> None:
            open_ = state.open(allowed, on_paper=on_paper) or ()
            touched = {s.edit.path for s in state.steps}
            ways = {f: [m for m in self._moves(state, (f,)) if not touched & _places(m)] for f in open_}
            if any(not w and key_of(f) not in group for f, w in ways.items()):
                return  # it brought up what nothing clears
            for move in dict.fromkeys(m for w in ways.values() for m in w):
                steps = self._after(state, move)
                key = frozenset(repr(s.edit) for s in steps)
                price = (len(steps), weight + move.weight)
                if key not in cost or price < cost[key]:
                    cost[key] = price
                    heappush(queue, (*price, next(tie), steps))

        push(start, 0.0)
        had_moves = bool(queue)
        stopped = ""
        seen: set[frozenset[str]] = set()
        tried: list[State] = []
        while queue:
            if self.budget.spent or len(seen) >= MAX_OF_GROUP:
                self.complete = False
                stopped = (
                    f"given up after {len(seen)} changed jobs; none is free of it{self._instead(start, group, tried)}"
                )
                break
            _, weight, _, steps = heappop(queue)
            key = frozenset(repr(s.edit) for s in steps)
            if key in seen:
                continue
            seen.add(key)
            state = self._state(steps)
            rest = state.open(allowed, on_paper=on_paper)
            if rest is None:
                continue
            tried.append(state)
            if not rest and state.can_be_written:
                return state
            if len(steps) - len(start.steps) < MAX_DEPTH:
                push(state, weight)
        for k in group:
            f = next(f for f in (*start.papers.findings, *start.findings) if key_of(f) == k)
            if not had_moves or not self._moves(start, (f,)):
                why[k] = no_cure(f)
            else:
                why[k] = (
                    stopped or f"none of {len(seen)} changed jobs is free of it{self._instead(start, group, tried)}"
                )
        return self._partly(start, group, why)

    def _instead(self, start: State, group: frozenset[Key], tried: list[State]) -> str:
        """What comes up where the finding itself is gone, from the first job that shows it."""
        for state in tried:
            found = state.paper_keys if self.on_paper or state.paper_keys - start.paper_keys else state.keys
            new = sorted(found - start.keys)
            if state.valid and not group & found and new:
                last = state.steps[-1].edit
                said = f"{place_words(start.job, last.path)}: {value_words(last.path, last.value)}"
                codes = ", ".join(f"{code} at {item}" for code, item in new[:3])
                return f" and of new findings; with {said} comes {codes}{' and more' if len(new) > 3 else ''}"
        return ""

    def _partly(self, start: State, group: frozenset[Key], why: dict[Key, str]) -> State:
        """A group that cannot be cleared whole: each of its findings alone, as far as that goes."""
        if len(group) < 2:
            return start
        state = start
        for k in sorted(group):
            reason = why.pop(k)
            state = self._clear(state, frozenset({k}), why)
            if k in (state.paper_keys if self.on_paper else state.keys):
                why[k] = reason
        return state

    # --- nothing that is not needed ---------------------------------------------------------------------

    def _needed(self, state: State, given_up: frozenset[Key]) -> tuple[Change, ...]:
        """The steps without those that can be put back with nothing lost."""
        steps = state.steps
        for step in reversed(state.steps):
            fewer = tuple(s for s in steps if s is not step)
            if not fewer or len(fewer) == len(steps):
                continue
            other = self._state(fewer)
            if other.open(given_up) == () and other.can_be_written:
                steps = fewer
        return steps


def _places(move: Move) -> set[Path]:
    """Places a move changes; new entries are in nobody's way."""
    return {e.path for e in move.edits if e.path[-1] != NEW}

"""A proof: what became of each cause of a first drive, what is new, what was driven again."""

from collections.abc import Iterator, Sequence
from typing import Literal

from tuneledger.change import one_car
from tuneledger.change.naming import called
from tuneledger.change.proof_words import NOT_SO, inferred
from tuneledger.change.ran import Ran, change_of, ran
from tuneledger.explain.model import Cause
from tuneledger.record import record
from tuneledger.statement.model import Statement
from tuneledger.wording import listing, seconds, sentence, share

State = Literal["gone", "remains", "not shown"]


@record
class Proven:
    """What became of one cause of the first drive.

    covered: share of the time in which it acted whose operating points the second drive visited
    now:     the cause of the second drive that is the same, where it remains
    why:     why it is not shown, in a few words
    protected: from what it protected the engine, where it did and nothing of it is left
    eased:     the same, where it still takes, and less than it would have taken as it was
    longer:    the same, where it acts for far more of the second drive
    """

    cause: Cause
    state: State
    covered: float
    says: str
    now: Cause | None = None
    why: str = ""
    protected: str | None = None
    eased: str | None = None
    longer: str | None = None

    @property
    def expected(self) -> bool:
        """Whether it need not be asked about; what remains is judged by what it is now."""
        judged = self.now if self.now is not None and self.state == "remains" else self.cause
        return judged.expected

    @property
    def no_longer_expected(self) -> bool:
        return self.cause.expected and not self.expected


@record(eq=False)
class Proof:
    """What a change did.

    coverage: share of the time in which the causes acted that the second drive went to again
    doubts:   what speaks against both drives being of one car
    """

    before: Statement
    after: Statement
    causes: tuple[Proven, ...]
    new: tuple[Cause, ...]
    coverage: float
    doubts: tuple[str, ...] = ()

    @property
    def judged(self) -> bool:
        """Whether both drives have an account at all."""
        return all(a.ledger for s in (self.before, self.after) for a in s.logs)

    def unexpected(self, state: State) -> tuple[Proven, ...]:
        return tuple(p for p in self.causes if p.state == state and not p.expected)

    @property
    def unprotected(self) -> tuple[Proven, ...]:
        """What protected the engine and is gone, expected or not: to be asked about, always."""
        return tuple(p for p in self.causes if p.protected)

    @property
    def eased(self) -> tuple[Proven, ...]:
        """What protects the engine and takes less than it would have as it was, always asked."""
        return tuple(p for p in self.causes if p.eased)

    @property
    def longer(self) -> tuple[Proven, ...]:
        """What protects the engine and has to do so for far more of the second drive."""
        return tuple(p for p in self.causes if p.longer)

    @property
    def revisions(self) -> tuple[Ran | None, Ran | None]:
        """Which of several sheets each drive ran, before and after."""
        return ran(self.before), ran(self.after)

    @property
    def strangers(self) -> tuple[Cause, ...]:
        """New causes that nobody expects."""
        return tuple(cause for cause in self.new if not cause.expected)

    @property
    def exit_status(self) -> int:
        """0 all is gone or expected; 1 something remains or is new, or a protection is gone or
        eased; 3 something was not shown."""
        if self.judged and self.after.raised_under_load:
            return 1
        if not self.judged:
            return 3
        if self.unexpected("remains") or self.strangers or self.unprotected or self.eased:
            return 1
        return 3 if self.unexpected("not shown") else 0

    @property
    def covered(self) -> str:
        """How much of where the causes showed was driven again; what it takes to act is another
        matter."""
        so = f"{share(self.coverage)} of where it showed was driven again"
        short = [p for p in self.causes if p.state == "not shown" and p.why == NOT_SO]
        if not short:
            return so
        return (
            f"{share(self.coverage)} of the speeds and loads at which it showed were driven again, "
            f"but not what {self._names(short)} needs to act"
        )

    @property
    def headline(self) -> str:
        """One sentence that a driver would understand; danger first."""
        if not self.judged:
            statement = self.before if any(not a.ledger for a in self.before.logs) else self.after
            return statement.headline
        if self.after.raised_under_load:
            return " ".join((self.after.headline, *self._beside_danger()))
        loaded = change_of(*self.revisions)
        parts = [*self._unprotected(), *self._longer()]
        parts += [*self._remaining(), *self._not_shown(), *self._gone()]
        if self.strangers:
            parts.append(
                f"new: {listing(dict.fromkeys(called(c, self.after) for c in self.strangers))}"
            )
        if not parts:
            if not self.causes:
                return "There was nothing to prove: the first drive shows no cause."
            was = all(p.cause.expected for p in self.causes)
            left = ", before and after" if was else " is left"
            rest = f"{sentence(loaded)} " if loaded else ""
            return f"Nothing but what is expected{left}. {rest}The crank was not checked."
        danger = len(self._unprotected()) + len(self._longer())
        text = "; ".join([*parts[:danger], *([loaded] if loaded else []), *parts[danger:]])
        if not self.unexpected("not shown") and not self.unexpected("remains"):
            text += f" ({self.covered})"
        return " ".join(part for part in (sentence(text), one_car.question(self.doubts)) if part)

    def _beside_danger(self) -> Iterator[str]:
        """What became of the causes, after what the second drive's own headline says."""
        parts = (*self._unprotected(), *self._longer(), *self._remaining(), *self._not_shown())
        told = "; ".join((*parts, *self._gone()))
        if told:
            yield f"Of the first drive: {told}."

    def _unprotected(self) -> list[str]:
        """Before all else: what is no longer there to save the engine, or does less of it."""
        out = []
        for lost, now, then in (
            (self.unprotected, "gone", "to go"),
            (self.eased, "eased", "to be"),
        ):
            if lost:
                who, meant = ("protects", "it was") if len(lost) == 1 else ("protect", "they were")
                out.append(
                    f"{self._names(lost)}, which {who} the engine, {_be(lost)} {now}: be sure that "
                    f"{meant} meant {then}"
                )
        return out

    def _longer(self) -> list[str]:
        """What has to protect the engine far more than it had to: the change may be why."""
        return [
            f"{self._names([p])}, which protects the engine, acts for {seconds(p.now.seconds)} "
            f"now, after {seconds(p.cause.seconds)} before: find out why"
            for p in self.longer
            if p.now is not None and not p.eased
        ]

    def _remaining(self) -> list[str]:
        left = [p for p in self.unexpected("remains") if not p.eased and not p.longer]
        changed = [p for p in left if p.no_longer_expected]
        same = [p for p in left if not p.no_longer_expected]
        sure = [p for p in same if not inferred(p.cause)]
        like = [p for p in same if inferred(p.cause)]
        out = [f"{self._names(some)} {_remain(some)}" for some in (changed, sure) if some]
        if changed:
            out[0] += ", no longer as expected"
        return out + ([f"something like {self._names(like)} {_remain(like)}"] if like else [])

    def _not_shown(self) -> list[str]:
        found = self.unexpected("not shown")
        groups = {why: [p for p in found if p.why == why] for why in {p.why: None for p in found}}
        return [f"{self._names(some)} {_be(some)} not shown: {why}" for why, some in groups.items()]

    def _gone(self) -> list[str]:
        found = [p for p in self.unexpected("gone") if not p.protected]
        return [f"{self._names(found)} {_be(found)} gone"] if found else []

    def _names(self, found: Sequence[Proven]) -> str:
        return listing(dict.fromkeys(called(p.cause, self.before) for p in found))


def _remain(found: Sequence[Proven]) -> str:
    return "remains" if len(found) == 1 else "remain"


def _be(found: Sequence[Proven]) -> str:
    return "is" if len(found) == 1 else "are"

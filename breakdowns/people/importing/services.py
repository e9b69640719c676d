"""Taking in a table of members: looked through first, then in small steps, each of them whole or not at all."""

from __future__ import annotations

import csv
import io
import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import IntegrityError, transaction
from django.utils import timezone

from ..erasure.services import erased_among
from ..membership.models import MemberSettings, Membership, MembershipChange, site_today
from ..membership.services import grace_of, invitation_send
from .columns import guess_columns, has_head
from .day_order import OrderFound, order_of
from .models import MemberImport
from .reading import Entry, Fault, Plan, Reading, read_entries
from .table import Row, decode, encodings_of, rows, separators_of

if TYPE_CHECKING:
    from ..models import User

STEP = 200  # lines that are taken in together; own choice
DAYS_KEPT = 7  # own choice: how long a file waits that nobody takes in
AT_FAULT = ("faults", "erased")  # what a line can be judged that is told in the report
_run_by: list[Callable[[MemberImport], None]] = []


def run_by(function: Callable[[MemberImport], None]) -> None:
    """Whoever runs background work registers here how an import is ordered."""
    if function not in _run_by:
        _run_by.append(function)


def is_address(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return True


@dataclass(frozen=True)
class Looked:
    """What taking a file in would do: new accounts, days for people known, days there already, and faults."""

    new: tuple[Entry, ...]
    known: tuple[Entry, ...]
    there: tuple[Entry, ...]
    faults: tuple[Fault, ...]

    @property
    def good(self) -> int:
        return len(self.new) + len(self.known)

    @property
    def lines(self) -> int:
        return self.good + len(self.there) + len(self.faults)

    @property
    def without_end(self) -> int:
        return sum(entry.ends_on is None for entry in (*self.new, *self.known))


# --- settling ------------------------------------------------------------------------------------


def guess_plan(data: bytes) -> Plan:
    """How a file may be meant, to be looked at by a person. Raises table.Unreadable."""
    encoding = encodings_of(data)[0]
    text = decode(data, encoding)
    return guess_rest(text, encoding, separators_of(text)[0])


def guess_rest(text: str, encoding: str, separator: str, head: bool | None = None) -> Plan:
    """The head and the columns, where encoding and separator are settled."""
    sample = [row.cells for row in itertools.islice((r for r in rows(text, separator) if not r.is_blank), 60)]
    first = sample[0] if sample else ()
    head = has_head(first) if head is None else head
    columns = guess_columns(first, sample[1:] if head else sample, head)
    return Plan(encoding, separator, head, columns)


def rows_of(one: MemberImport, plan: Plan) -> list[Row]:
    return [row for row in rows(decode(bytes(one.data), plan.encoding), plan.separator) if not row.is_blank]


def days_said(table: Sequence[Row], plan: Plan) -> OrderFound:
    """What the columns of days say about the order of day and month."""
    columns = [plan.columns[name] for name in ("starts_on", "ends_on") if name in plan.columns]
    body = table[1:] if plan.head else table
    return order_of(row.cells[number] for row in body for number in columns if number < len(row.cells))


@transaction.atomic
def import_make(data: bytes, file_name: str, *, by: User) -> MemberImport:
    """Keep a file with what can be guessed about it. Raises table.Unreadable."""
    plan = guess_plan(data)
    return MemberImport.objects.create(data=data, file_name=file_name[:120], by=by, plan=plan.as_json())


def import_settle(one: MemberImport, plan: Plan) -> None:
    MemberImport.objects.filter(pk=one.pk, state="open").update(plan=plan.as_json())
    one.plan = plan.as_json()


def import_forget(one: MemberImport) -> bool:
    """Wipe the file and what is told of it; False while it is being taken in."""
    wiped = {"data": b"", "faults": [], "plan": {}, "state": "forgotten", "ended_at": timezone.now()}
    return bool(MemberImport.objects.filter(pk=one.pk).exclude(state="running").update(**wiped))


def imports_tidy() -> int:
    """Forget the files that nobody took in for a week."""
    old = MemberImport.objects.filter(state="open", made_at__lt=timezone.now() - timedelta(days=DAYS_KEPT))
    return old.update(data=b"", faults=[], plan={}, state="forgotten", ended_at=timezone.now())


def imports_forget_person(email: str) -> None:
    """Leave nothing of an address in files that wait or in reports."""
    for one in MemberImport.objects.exclude(state="forgotten"):
        # A file that is being taken in is wiped at its end; until then the line of who was erased is refused.
        if one.state != "running" and email.encode() in bytes(one.data).lower():
            import_forget(one)
        elif any(email in fault["words"].lower() for fault in one.faults):
            left = [
                {
                    **fault,
                    "words": "Somebody who has left." if email in fault["words"].lower() else fault["words"],
                }
                for fault in one.faults
            ]
            MemberImport.objects.filter(pk=one.pk).update(faults=left)


# --- looking through -----------------------------------------------------------------------------


def import_read(one: MemberImport) -> Reading:
    """The people and the faults of a file as settled. Raises table.Unreadable."""
    plan = Plan.from_json(one.plan)
    return read_entries(rows_of(one, plan), plan, today=site_today(), is_address=is_address)


def import_look(one: MemberImport) -> Looked:
    """A dry run: nothing is written. Raises table.Unreadable."""
    reading = import_read(one)
    found: dict[str, list] = {"new": [], "known": [], "there": [], "faults": list(reading.faults)}
    for step in _steps(reading.entries):
        for entry, kind, _ in _judged(step):
            at_fault = kind in AT_FAULT
            found["faults" if at_fault else kind].append(
                Fault(entry.line, _words(kind, entry)) if at_fault else entry
            )
    faults = sorted(found["faults"], key=lambda fault: fault.line)
    return Looked(tuple(found["new"]), tuple(found["known"]), tuple(found["there"]), tuple(faults))


def _steps(entries: Sequence[Entry]) -> Iterator[tuple[Entry, ...]]:
    for begin in range(0, len(entries), STEP):
        yield tuple(entries[begin : begin + STEP])


def _words(kind: str, entry: Entry) -> str:
    if kind == "erased":  # the address is not said: it would stay in the report
        return (
            "This person had their data erased and is not taken in again by a table; if they have come back, "
            "invite them on the people page."
        )
    return (
        f"{entry.email} has an account that is closed or of the studio; settle it on the people page first."
    )


def _judged(step: Sequence[Entry]) -> list[tuple[Entry, str, User | None]]:
    """What each line would do: "new", "known", "there" (the same days already), "faults" or "erased"."""
    from ..models import User

    people = {user.email: user for user in User.objects.filter(email__in=[entry.email for entry in step])}
    days = {
        (user, first, last)
        for user, first, last in Membership.objects.filter(
            user__in=people.values(), revoked_at__isnull=True
        ).values_list("user_id", "starts_on", "ends_on")
    }
    erased = erased_among(entry.email for entry in step if entry.email not in people)
    judged: list[tuple[Entry, str, User | None]] = []
    for entry in step:
        user = people.get(entry.email)
        if entry.email in erased:
            judged.append((entry, "erased", None))
        elif user is None:
            judged.append((entry, "new", None))
        elif user.in_studio or not user.is_active:
            judged.append((entry, "faults", user))
        elif (user.pk, entry.starts_on, entry.ends_on) in days:
            judged.append((entry, "there", user))
        else:
            judged.append((entry, "known", user))
    return judged


# --- taking in -----------------------------------------------------------------------------------


@transaction.atomic
def import_order(one: MemberImport) -> bool:
    """Let it be taken in; False when it was ordered before. Lines at fault are kept for the report."""
    plan = Plan.from_json(one.plan)
    # What "today" is must not change while lines are taken in around midnight.
    one.plan = replace(plan, first_day=plan.first_day or site_today()).as_json()
    reading = import_read(one)
    values = {
        "state": "running",
        "plan": one.plan,
        "total": reading.lines,
        "gone_through": len(reading.faults),
        "faults": [asdict(fault) for fault in reading.faults],
    }
    ordered = bool(MemberImport.objects.filter(pk=one.pk, state="open").update(**values))
    if ordered:
        import_go_on(one)
    return ordered


def import_go_on(one: MemberImport) -> None:
    """Order the work (again, where it was given up); the lines that are done are not done twice."""
    transaction.on_commit(lambda: [function(one) for function in _run_by])


def import_run(pk: int, stopped: Callable[[], bool] = lambda: False) -> str:
    """Take in what is left, step by step; each step and how far it came are written together."""
    one = MemberImport.objects.get(pk=pk)
    if one.state != "running":
        return one.state
    plan, entries = Plan.from_json(one.plan), import_read(one).entries
    for step in _steps([entry for entry in entries if entry.line > one.done_line]):
        if stopped():
            return "running"
        try:
            _take_in(pk, step, plan)
        except IntegrityError:  # somebody was given one of these accounts in the same moment: it is known now
            _take_in(pk, step, plan)
    MemberImport.objects.filter(pk=pk, state="running").update(
        state="done", data=b"", plan={}, ended_at=timezone.now()
    )
    return "done"


@transaction.atomic
def _take_in(pk: int, step: Sequence[Entry], plan: Plan) -> None:
    house = MemberSettings.locked()  # first, as everywhere: who changes memberships from outside waits here
    one = MemberImport.objects.select_for_update().defer("data").get(pk=pk)
    left = [entry for entry in step if entry.line > one.done_line]
    if one.state != "running" or not left:
        return
    judged = _judged(left)
    people = _accounts_make([entry for entry, kind, _ in judged if kind == "new"])
    given = [(entry, user or people[entry.email]) for entry, kind, user in judged if kind in ("new", "known")]
    _memberships_make(given, one, house)
    if plan.invite:
        for user in people.values():
            invitation_send(user, by=one.by)
    faults = [asdict(Fault(e.line, _words(kind, e))) for e, kind, _ in judged if kind in AT_FAULT]
    one.accounts_made += len(people)
    one.memberships_given += len(given)
    one.there_already += sum(kind == "there" for _, kind, _ in judged)
    one.faults = sorted([*one.faults, *faults], key=lambda fault: fault["line"])
    one.gone_through += len(left)
    one.done_line = left[-1].line
    one.save(
        update_fields=[
            "accounts_made", "memberships_given", "there_already", "faults", "gone_through", "done_line",
        ]
    )  # fmt: skip


def _accounts_make(entries: Iterable[Entry]) -> dict[str, User]:
    from ..models import User

    made = [User(email=entry.email, name=entry.name) for entry in entries]
    for user in made:
        user.set_unusable_password()
    return {user.email: user for user in User.objects.bulk_create(made)}


def _memberships_make(given: Sequence[tuple[Entry, User]], one: MemberImport, house: MemberSettings) -> None:
    made = []
    for entry, user in given:
        row = Membership(
            user=user, source="import", starts_on=entry.starts_on, ends_on=entry.ends_on,
            gift=bool(entry.gift_from), gift_from=entry.gift_from,
        )  # fmt: skip
        row.grace_until = grace_of(row, house)
        made.append(row)
    Membership.objects.bulk_create(made)
    MembershipChange.objects.bulk_create(
        MembershipChange(
            membership=row, by=one.by, what="given from a table" + (" as a gift" if row.gift else ""),
            ends_on_after=row.ends_on,
        )
        for row in made
    )  # fmt: skip


def report_csv(faults: Iterable[Fault]) -> str:
    """The lines at fault as a table. A cell that a spreadsheet would work out is made plain text.

    OWASP, "CSV Injection": cells that begin with = + - @, tab or return are put behind a single quotation mark.
    """
    file = io.StringIO()
    table = csv.writer(file)
    table.writerow(["line", "what is wrong"])
    for fault in faults:
        words = fault.words
        table.writerow([fault.line, f"'{words}" if words[:1] in "=+-@\t\r" else words])
    return file.getvalue()


def faults_of(one: MemberImport) -> tuple[Fault, ...]:
    """The faults as far as they are known: by a dry run while it is open, as kept afterwards."""
    if one.state == "open":
        return import_look(one).faults
    return tuple(Fault(**fault) for fault in one.faults)

"""Everything done to quotes. Whoever changes one holds the quote's row, so that of two at once the second is told."""

from collections.abc import Callable, Sequence
from datetime import date
from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.models import Organisation, Owner, User
from core.calc.format import day
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.models.rows import validate_and_save
from maintenance.models import PriceList, Recommendation
from maintenance.selectors.prices import price_list_on
from planning.calc.quote_lines import Line, lines_of
from planning.calc.quotes import sums_of
from planning.calc.vocabulary import Answer, QuoteState
from planning.models import Quote, QuoteLine, QuoteVersion
from planning.selectors.quotes import prices_of, work_of
from planning.services import quote_notices
from qa.selectors.days import firm_date, firm_today

ANSWERED = ("state", "decided_by", "decided_at", "decided_on", "answered_by", "decision_note")
BETWEEN_NOTES = "\n\n"
NO_LIST = gettext_noop("There is no price list in force. Write one first: quotes take their prices from it.")
OWNERS = gettext_noop(
    "These are of several owners: %(names)s. A quote is for one: tick the work of one owner."
)
PAST = gettext_noop("%(day)s is in the past. Give a day from today on.")
NEWER = gettext_noop("Version %(newer)s is newer than this one. Change that one.")
FINAL = gettext_noop("%(quote)s is approved and stands as it is. Make a new quote for what is to be added.")
NOT_DRAFT = gettext_noop("%(quote)s is %(state)s. Only a draft can be sent.")
NO_LINES = gettext_noop("There is nothing on this quote. Add a line, then send it.")
NO_PRICE = gettext_noop("Give the price of %(what)s before the quote is sent.")
REPLACED = gettext_noop(
    "%(quote)s was replaced by version %(newer)s on %(day)s. Read and answer that one; your note is kept below."
)
DECIDED = gettext_noop("%(quote)s was %(state)s by %(who)s on %(day)s. That answer stands.")
RUN_OUT = gettext_noop("%(quote)s could be answered until %(day)s. Ask the firm for a new one.")
TAKEN_BACK = gettext_noop("%(quote)s was withdrawn by the firm. Ask the firm what comes in its place.")
NOT_OPEN = gettext_noop(
    "%(quote)s is %(state)s. Only a draft, or a quote that waits for an answer, can be withdrawn."
)
NOT_YET_SENT = gettext_noop("%(quote)s was sent on %(sent)s: it cannot have been answered on %(day)s.")
IN_FUTURE = gettext_noop("%(day)s is in the future. Give the day on which the owner answered.")
OWNERS_ONLY = gettext_noop("Only people who read for %(owner)s answer this quote.")


@transaction.atomic
def quote_advice(
    *,
    recommendations: Sequence[Recommendation],
    by: User,
    valid_until: date,
    note: str = "",
    device_id: UUID | None = None,
) -> QuoteVersion:
    """A draft for one owner from pieces of advice, at the prices in force. A repeat with one device id gives the first.

    Raises ValidationError for advice of several owners and a last day in the past, NotAllowedNowError without a list.
    """
    first = _first_sending(device_id, by)
    if first:
        return first
    owner = _one_owner(recommendations)
    _refuse_past(owner.organisation, valid_until)
    prices = price_list_on(owner.organisation, firm_today(owner.organisation))
    if prices is None:
        raise NotAllowedNowError(_(NO_LIST))
    with override(owner.reads):
        lines = lines_of(work_of(recommendations, by.units), prices_of(prices))
    version = _new_version(_new_quote(owner, by, device_id), 1, by, prices)
    version.valid_until, version.note = valid_until, note
    return _store(version, [_row(line) for line in lines])


def _first_sending(device_id: UUID | None, by: User) -> QuoteVersion | None:
    same = QuoteVersion.objects.filter(quote__device_id=device_id, quote__made_by=by, version=1)
    return same.first() if device_id else None


def _one_owner(recommendations: Sequence[Recommendation]) -> Owner:
    owners = {row.surface.site.owner for row in recommendations}
    if len(owners) != 1:
        names = ", ".join(sorted(str(owner) for owner in owners))
        raise ValidationError({"advice": ValidationError(_(OWNERS), params={"names": names})})
    return owners.pop()


def _refuse_past(firm: Organisation, day_: date) -> None:
    if day_ < firm_today(firm):
        raise ValidationError({"valid_until": ValidationError(_(PAST), params={"day": day(day_)})})


def _new_quote(owner: Owner, by: User, device_id: UUID | None) -> Quote:
    """The next number of the firm's year, whose row is the lock: two quotes made at once queue here."""
    firm = Organisation.objects.select_for_update().get(pk=owner.organisation_id)
    year = firm_today(firm).year
    last = Quote.objects.filter(organisation=firm, year=year).aggregate(last=Max("number"))["last"]
    quote = Quote(
        organisation=firm, owner=owner, year=year, number=(last or 0) + 1, made_by=by, device_id=device_id
    )
    validate_and_save(quote)
    return quote


def _new_version(quote: Quote, number: int, by: User, prices: PriceList | QuoteVersion) -> QuoteVersion:
    """prices: the list, or the version before, whose tax and currency it takes."""
    return QuoteVersion(
        quote=quote,
        version=number,
        written_by=by,
        currency=prices.currency,
        tax_name=prices.tax_name,
        tax_percent=prices.tax_percent,
        prices_include_tax=prices.prices_include_tax,
    )


def _row(line: Line) -> QuoteLine:
    return QuoteLine(
        recommendation_id=line.advice,
        surface_id=line.surface,
        site_id=line.site,
        what=line.what[:200],
        why=line.why,
        quantity=line.quantity,
        unit=line.unit.value,
        unit_price=line.unit_price,
        method=line.method,
        advised_price=line.advised_price,
    )


def _store(version: QuoteVersion, lines: Sequence[QuoteLine]) -> QuoteVersion:
    """Store a version with its lines in this order, and what they come to."""
    sums = sums_of((line.amount_in(version.currency) for line in lines), version.tax_rule, version.currency)
    version.net, version.tax, version.total = sums.net, sums.tax, sums.total
    validate_and_save(version)
    for position, line in enumerate(lines, start=1):
        line.version, line.position = version, position
        validate_and_save(line)
    return version


@transaction.atomic
def change(
    *,
    version: QuoteVersion,
    by: User,
    valid_until: date,
    note: str,
    lines: Sequence[QuoteLine],
    removed: Sequence[QuoteLine] = (),
) -> QuoteVersion:
    """Change a draft; of what was sent make a new version, a draft, and leave the sent one as it is.

    lines: all that are to stand, in their order. Raises NotAllowedNowError for an approved quote, and where a newer
    version is there.
    """
    row = _locked(version)
    _refuse_settled(row)
    _refuse_past(row.quote.organisation, valid_until)
    if row.is_draft:
        QuoteLine.objects.filter(pk__in=[line.pk for line in removed], version=row).delete()
    else:
        lines = [_copy(line) for line in lines]
        row = _new_version(row.quote, row.version + 1, by, row)
    row.valid_until, row.note = valid_until, note
    return _store(row, lines)


def _copy(line: QuoteLine) -> QuoteLine:
    kept = (
        *("recommendation_id", "surface_id", "site_id", "what", "why", "quantity", "unit", "unit_price"),
        *("method", "advised_price"),
    )
    return QuoteLine(**{name: getattr(line, name) for name in kept})


def _locked(version: QuoteVersion) -> QuoteVersion:
    """The version as it is stored now, with its quote held until the end of the transaction."""
    Quote.objects.select_for_update().get(pk=version.quote_id)
    rows = QuoteVersion.objects.select_related("quote__owner", "quote__organisation", "decided_by")
    return rows.get(pk=version.pk)


def _refuse_settled(row: QuoteVersion) -> None:
    approved = row.quote.versions.filter(state=QuoteState.APPROVED).first()
    if approved:
        raise NotAllowedNowError(_(FINAL) % {"quote": approved})
    newer = row.quote.versions.filter(version__gt=row.version).first()
    if newer:
        raise NotAllowedNowError(_(NEWER) % {"newer": newer.version})


@transaction.atomic
def send(*, version: QuoteVersion, by: User) -> QuoteVersion:
    """Show a draft to its owner, in the place of the version sent before; its mail is `quote_mail.tell_owner`."""
    row = _locked(version)
    if not row.is_draft:
        raise AlreadyDoneError(_(NOT_DRAFT) % {"quote": row, "state": row.get_state_display().lower()})
    _refuse_settled(row)
    _refuse_past(row.quote.organisation, row.valid_until)
    _refuse_unpriced(row)
    row.quote.versions.filter(state=QuoteState.SENT).update(state=QuoteState.REPLACED)
    row.state, row.sent_by, row.sent_at = QuoteState.SENT, by, now()
    row.save(update_fields=["state", "sent_by", "sent_at"])
    if row.quote.first_sent_at is None:
        row.quote.first_sent_at = row.sent_at
        row.quote.save(update_fields=["first_sent_at"])
    quote_notices.tell_sent(version=row, by=by)
    return row


def _refuse_unpriced(row: QuoteVersion) -> None:
    lines = list(row.lines.all())
    if not lines:
        raise ValidationError(_(NO_LINES))
    missing = [line.what for line in lines if line.unit_price is None]
    if missing:
        raise ValidationError(_(NO_PRICE), params={"what": "; ".join(missing)})


@transaction.atomic
def withdraw(*, version: QuoteVersion) -> QuoteVersion:
    """Take back a draft or a sent version; its number stays taken and it stays readable."""
    row = _locked(version)
    if row.state not in (QuoteState.DRAFT, QuoteState.SENT):
        raise NotAllowedNowError(_(NOT_OPEN) % {"quote": row, "state": row.get_state_display().lower()})
    row.state = QuoteState.WITHDRAWN
    row.save(update_fields=["state"])
    return row


@transaction.atomic
def decide(
    *,
    version: QuoteVersion,
    by: User,
    answer: Answer,
    note: str = "",
    told: Callable[[QuoteVersion], object] = bool,
) -> QuoteVersion:
    """Store what an owner's person says to a sent version; it is final for that version.

    A repeat of the same answer by the same person changes nothing but that a new note is added to the first. told: is
    called with the version where anything is new. Raises PermissionDenied for anybody else, NotAllowedNowError for a
    version that was replaced, withdrawn, has run out or is answered.
    """
    note = note.strip()
    row = _locked(version)
    if not row.quote.owner.people.filter(user=by).exists():
        raise PermissionDenied(_(OWNERS_ONLY) % {"owner": row.quote.owner})
    if row.decided_by == by and row.state == answer:
        if not note or note in row.decision_note.split(BETWEEN_NOTES):
            return row
        row.decision_note = BETWEEN_NOTES.join(filter(None, (row.decision_note, note)))
    else:
        _refuse_closed(row)
        _refuse_run_out(row, firm_today(row.quote.organisation))
        _answer(row, answer, by, firm_today(row.quote.organisation), note)
    validate_and_save(row, *ANSWERED)
    quote_notices.tell_answered(version=row, by=by)
    told(row)
    return row


@transaction.atomic
def write_down(
    *, version: QuoteVersion, by: User, answer: Answer, answered_by: str, answered_on: date, note: str = ""
) -> QuoteVersion:
    """Store what an owner said on paper or by phone, as the office was told; it is final for that version.

    answered_by: the owner's person; the day counts for whether the quote still held. A repeat changes nothing.
    """
    row = _locked(version)
    said = (answer, answered_by.strip(), answered_on, note.strip())
    if (row.state, row.answered_by, row.decided_on, row.decision_note) == said and row.decided_by == by:
        return row
    _refuse_closed(row)
    _refuse_day(row, answered_on)
    _refuse_run_out(row, answered_on)
    row.answered_by = answered_by.strip()
    _answer(row, answer, by, answered_on, note.strip())
    validate_and_save(row, *ANSWERED)
    quote_notices.tell_answered(version=row, by=by)
    return row


def _answer(row: QuoteVersion, answer: Answer, by: User, on: date, note: str) -> None:
    row.state, row.decided_by, row.decided_at, row.decided_on = answer.value, by, now(), on
    row.decision_note = note


def _refuse_day(row: QuoteVersion, on: date) -> None:
    firm = row.quote.organisation
    if on > firm_today(firm):
        raise ValidationError({"answered_on": ValidationError(_(IN_FUTURE), params={"day": day(on)})})
    if row.sent_at and on < firm_date(firm, row.sent_at):
        params = {"quote": row, "sent": _sent_on(row), "day": day(on)}
        raise ValidationError({"answered_on": ValidationError(_(NOT_YET_SENT), params=params)})


def _refuse_closed(row: QuoteVersion) -> None:
    said = {"quote": row, "state": row.get_state_display().lower()}
    if row.decided_on:
        who = {"who": row.decider, "day": day(row.decided_on)}
        raise AlreadyDoneError(_(DECIDED) % (said | who))
    if row.state == QuoteState.REPLACED:
        newer = row.quote.versions.filter(sent_at__gt=row.sent_at).order_by("-version").first()
        on = {"newer": newer.version, "day": _sent_on(newer)} if newer else {}
        raise NotAllowedNowError(_(REPLACED) % (said | {"newer": "", "day": ""} | on))
    if row.state in (QuoteState.WITHDRAWN, QuoteState.DRAFT):
        raise NotAllowedNowError(_(TAKEN_BACK) % said)


def _refuse_run_out(row: QuoteVersion, on: date) -> None:
    if row.valid_until < on:
        raise NotAllowedNowError(_(RUN_OUT) % {"quote": row, "day": day(row.valid_until)})


def _sent_on(version: QuoteVersion) -> str:
    return day(firm_date(version.quote.organisation, version.sent_at)) if version.sent_at else ""

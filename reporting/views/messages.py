"""Questions to the office and its answers, kept as a thread on the surface."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods, require_POST

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest, audience_of
from core.views.form_views import do_or_say, save_or_show, save_with_reason
from qa.models import Surface
from reporting.calc.messages import ThreadPart
from reporting.forms.messages import MessageForm
from reporting.models import ThreadMessage
from reporting.selectors.messages import side_of_owner, thread_of
from reporting.services import messages

READ_ONLY = gettext_noop("Writing to the owner needs the technician role in this organisation.")
NOT_YOURS = gettext_noop(
    "Only who wrote a message, or the firm's coordinators for one of the firm, can withdraw it."
)


@login_required
@require_http_methods(["GET", "POST"])
def message_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, surface.organisation)
    if not may_write(request, surface, audience):
        raise PermissionDenied(_(READ_ONLY))
    link = request.build_absolute_uri(reverse("reporting:message-create", args=[surface.pk]))
    form = MessageForm(request.POST or None)
    from_owner = audience is not Audience.FIRM
    return save_or_show(
        request,
        form,
        lambda: messages.write(
            message=form.instance, surface=surface, by=request.user, from_owner=from_owner, link=link
        ),
        "reporting/message_create.html",
        lambda: {"thread": seen_thread(request, surface, audience)},
        surface=surface,
        of_firm=not from_owner,
    )


def may_write(request: PersonRequest, surface: Surface, audience: Audience) -> bool:
    """Whether the reader may write in the thread, as somebody of the firm or of the owner."""
    if audience is Audience.FIRM:
        return request.current.can_record
    return side_of_owner(surface, request.user)


def seen_thread(request: PersonRequest, surface: Surface, audience: Audience) -> ThreadPart:
    """The thread as this reader sees it."""
    may_plan = audience is Audience.FIRM and request.current.can_plan
    allowed = may_write(request, surface, audience)
    return thread_of(surface, request.user, audience, may_write=allowed, may_plan=may_plan)


@login_required
@require_http_methods(["GET", "POST"])
def message_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    message = get_for_user(ThreadMessage, request.user, Role.OWNER, pk=pk)
    audience = audience_of(request.current, message.surface.organisation)
    thread = seen_thread(request, message.surface, audience)
    mine = {one.key for one in thread.messages if one.own_side and (one.may_withdraw or one.withdrawn)}
    if message.pk not in mine:
        raise PermissionDenied(_(NOT_YOURS))
    return save_with_reason(
        request,
        lambda reason: messages.withdraw(message=message, by=request.user, reason=reason),
        "reporting/message_void.html",
        message=message,
    )


@login_required
@require_POST
def message_settle(request: PersonRequest, pk: UUID) -> HttpResponse:
    message = get_for_user(ThreadMessage, request.user, Role.TECHNICIAN, pk=pk)

    def act() -> str:
        messages.settle(message=message, by=request.user)
        return _("Marked as needing no answer.")

    return do_or_say(request, act, message)

"""What decides who gets in, or takes everything away, is done only after a fresh look at who is there.

Whoever finds a device that is signed in shall not be able to hand the firm to somebody. The question comes after the
role is checked, so that nobody is asked for a password and then told that they may not; what was sent is done once the
person has confirmed, so that nothing has to be typed again.
"""

from allauth.account.decorators import reauthentication_required
from django.http import HttpRequest


def require_fresh_sign_in(request: HttpRequest) -> None:
    """Lead to where the person confirms who they are, unless they did within the last minutes."""
    _confirmed(request)


@reauthentication_required()  # type: ignore[untyped-decorator]  # of allauth
def _confirmed(request: HttpRequest) -> None:
    """Reached only by who has confirmed: the package raises what its middleware answers."""

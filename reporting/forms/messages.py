"""Text to typed values for a message about a surface."""

from core.forms.once import OnceForm
from reporting.models import ThreadMessage


class MessageForm(OnceForm[ThreadMessage]):
    class Meta:
        model = ThreadMessage
        fields = ("text",)

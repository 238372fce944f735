"""People who sign in."""

from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser, BaseUserManager
from django.db import models
from django.utils.translation import gettext_lazy as _lazy

from core.calc.languages import Language
from core.calc.units import UnitSystem


class UserManager(BaseUserManager["User"]):
    """Makes users who sign in with their e-mail address."""

    def create_user(self, email: str, password: str | None = None, **extra: Any) -> "User":
        """Store a person. `password=None` leaves the account without one."""
        if not email:
            raise ValueError("A user needs an e-mail address, got an empty one.")
        user = self.model(email=self.normalize_email(email).lower(), **extra)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(self, email: str, password: str | None = None, **extra: Any) -> "User":
        """Store a person who may use the back office."""
        return self.create_user(email, password, is_staff=True, is_superuser=True, **extra)


class User(AbstractUser):
    """A person who signs in."""

    username = None  # type: ignore[assignment]
    email = models.EmailField(_lazy("e-mail address"), unique=True)
    full_name = models.CharField(_lazy("name"), max_length=120, blank=True)
    units = models.CharField(
        _lazy("units"), max_length=2, choices=UnitSystem.choices, default=UnitSystem.SI.value
    )
    language = models.CharField(
        _lazy("language"),
        max_length=8,
        blank=True,
        choices=Language.choices,
        help_text=_lazy("Of pages and mails. Empty: as your browser asks."),
    )
    day_mails = models.BooleanField(
        _lazy("e-mail me the days of visits"),
        default=True,
        help_text=_lazy("When a visit to one of your sites is set, moved or cancelled."),
    )

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []
    objects = UserManager()  # type: ignore[assignment,misc]

    def __str__(self) -> str:
        return self.full_name or self.email

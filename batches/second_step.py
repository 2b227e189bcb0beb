"""The second step of signing in: a code from the telephone, or a recovery code."""

import base64
import hashlib
import secrets
from dataclasses import dataclass
from math import ceil
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice

from batches.errors import RecordError

RECOVERY_CODES = 8  # own figure
RECOVERY_BYTES = 10  # own figure: 80 bits, written as 16 letters and digits
KEPT_CHARACTERS = 16  # of the code's SHA-256; the column holds no more
TOGETHER = 4  # letters of the secret, as people type them
NAME = "telephone"


@dataclass(frozen=True, slots=True)
class Secret:
    """What a telephone must know, as text to type and as an address for a QR code."""

    text: str
    address: str


def is_on(user: AbstractBaseUser) -> bool:
    """Say whether a code is asked for when this person signs in."""
    return TOTPDevice.objects.filter(user=user, confirmed=True).exists()


def begin(user: AbstractBaseUser) -> None:
    """Make a new secret, not yet asked for."""
    TOTPDevice.objects.filter(user=user, confirmed=False).delete()
    TOTPDevice.objects.create(user=user, name=NAME, confirmed=False)


def waiting_secret(user: AbstractBaseUser) -> Secret | None:
    """Return the secret that no code has confirmed yet."""
    device = TOTPDevice.objects.filter(user=user, confirmed=False).first()
    if device is None:
        return None
    text = base64.b32encode(device.bin_key).decode("ascii").rstrip("=")
    groups = [text[at : at + TOGETHER] for at in range(0, len(text), TOGETHER)]
    return Secret(text=" ".join(groups), address=device.config_url)


def check_first_code(user: AbstractBaseUser, code: str) -> None:
    """Refuse a code that the telephone would not show now."""
    waiting = TOTPDevice.objects.filter(user=user, confirmed=False)
    _check(waiting, _plain(code), "Set the telephone up first.")


def switch_on(user: AbstractBaseUser) -> None:
    """Ask for a code from now on."""
    TOTPDevice.objects.filter(user=user, confirmed=False).update(confirmed=True)


def switch_off(user: AbstractBaseUser) -> None:
    """Ask for no code any more, and forget the secret and the recovery codes."""
    TOTPDevice.objects.filter(user=user).delete()
    StaticDevice.objects.filter(user=user).delete()


def new_recovery_codes(user: AbstractBaseUser) -> list[str]:
    """Replace the recovery codes and return them; only their hashes are kept."""
    StaticDevice.objects.filter(user=user).delete()
    device = StaticDevice.objects.create(user=user, name="recovery", confirmed=True)
    codes = [
        base64.b32encode(secrets.token_bytes(RECOVERY_BYTES)).decode("ascii").lower()
        for _ in range(RECOVERY_CODES)
    ]
    for code in codes:
        device.token_set.create(token=_hash(code))
    return codes


def recovery_codes_left(user: AbstractBaseUser) -> int:
    """Return how many recovery codes are not used."""
    return sum(
        device.token_set.count() for device in StaticDevice.objects.filter(user=user)
    )


def check_code(user: AbstractBaseUser, code: str) -> None:
    """Refuse a wrong code, and any for a while after wrong ones."""
    plain = _plain(code)
    if plain.isdecimal():
        devices = TOTPDevice.objects.filter(user=user, confirmed=True)
        _check(devices, plain, "The second step is off.")
    else:
        devices = StaticDevice.objects.filter(user=user, confirmed=True)
        _check(devices, _hash(plain), "There are no recovery codes.")


def _check(devices: Any, code: str, none: str) -> None:
    with transaction.atomic():
        device = devices.select_for_update().first()
        if device is None:
            raise RecordError("code", none, "no-device")
        is_allowed, why = device.verify_is_allowed()
        is_right = is_allowed and device.verify_token(code)
    if not is_allowed:
        wait_s = ceil((why["locked_until"] - timezone.now()).total_seconds())
        raise RecordError(
            "code",
            f"The last code was wrong. Wait {max(wait_s, 1)} s, then type the newest.",
            "code-rests",
        )
    if not is_right:
        raise RecordError(
            "code",
            "This code is wrong, too old or used. Type the one that is shown now; each "
            "serves once.",
            "code",
        )


def _plain(code: str) -> str:
    return "".join(code.split()).replace("-", "").lower()


def _hash(code: str) -> str:
    return hashlib.sha256(code.encode()).hexdigest()[:KEPT_CHARACTERS]

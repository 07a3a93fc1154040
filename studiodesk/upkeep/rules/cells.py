"""Reading one value as a person wrote it: a value out, or ``Refused`` with the reason in a code.  Pure.

Nothing is rounded, clipped or guessed here.  Numbers are bounded, so that what passes fits the database's integers.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from zoneinfo import available_timezones

from studiodesk.answers import refuse

from .problems import shown

MOST_SHEETS = 10_000
LONGEST_MM = 5_000
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,4})?", re.ASCII)
_NOT_FINITE = re.compile(r"[+-]?(nan|inf|infinity|∞)", re.IGNORECASE)
_EMAIL = re.compile(r"[^@\s\"(),:;<>\[\\\]]+@[A-Za-z0-9]([A-Za-z0-9.-]*[A-Za-z0-9])?", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
# Date, T or a space, time; Python would cut off what is finer than a microsecond, so that is refused.
_MOMENT = re.compile(r"\d{4}[0-9W-]*[T ](?!.*[.,]\d{7})", re.ASCII)
_CURRENCY = re.compile(r"[A-Z]{3}", re.ASCII)

# ISO 4217 gives most currencies two decimals; these it does not (from memory of the list of 2024).
_NO_DECIMALS = frozenset(
    (
        "BIF",
        "CLP",
        "DJF",
        "GNF",
        "ISK",
        "JPY",
        "KMF",
        "KRW",
        "PYG",
        "RWF",
        "UGX",
        "UYI",
        "VND",
        "VUV",
        "XAF",
        "XOF",
        "XPF",
    )
)
_THREE = ("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND")
_DIGITS = dict.fromkeys(_NO_DECIMALS, 0) | dict.fromkeys(_THREE, 3) | {"CLF": 4, "UYW": 4}


def text(value: object, longest: int = 120) -> str:
    """Text on one line, trimmed; refused if empty, too long, no text, or with control signs in it."""
    if isinstance(value, bool) or not isinstance(value, (str, int)):
        refuse("upkeep.not_text", value=shown(value))
    out = str(value).strip()
    if not out:
        refuse("upkeep.needed")
    return _plain(out, longest)


def text_or_empty(value: object, longest: int = 120) -> str:
    if not isinstance(value, str):
        refuse("upkeep.not_text", value=shown(value))
    return _plain(str(value).strip(), longest)


def note(value: str, longest: int = 500) -> str:
    """Free text: line breaks and tabs are allowed, other control signs are not."""
    out = value.strip()
    _plain(re.sub(r"[\r\n\t]", " ", out), longest)
    return out


def _plain(out: str, longest: int) -> str:
    if len(out) > longest:
        refuse("upkeep.too_long_text", value=shown(out), most=longest)
    if any(ord(sign) < 32 or 127 <= ord(sign) < 160 or 0xD800 <= ord(sign) < 0xE000 for sign in out):
        refuse("upkeep.control_sign", value=shown(out))
    return out


def code(value: object) -> str:
    """A code by which other tables name a thing: up to 30 signs."""
    return text(value, 30)


def number(value: object, least: Decimal | int, most: Decimal | int, *, above: bool = False) -> Decimal:
    """A finite number from ``least`` (with ``above``: more than ``least``) to ``most``, as it was written."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float, Decimal)):
        refuse("upkeep.not_a_number", value=shown(value))
    written = _signs(value)
    if _NOT_FINITE.fullmatch(written):
        refuse("upkeep.not_finite", value=shown(written))
    if len(written) > 60 or not _NUMBER.fullmatch(written):
        refuse("upkeep.not_a_number", value=shown(written))
    try:
        out = Decimal(written)
    except InvalidOperation:
        refuse("upkeep.not_a_number", value=shown(written))
    if out < 0 and least >= 0:
        refuse("upkeep.negative", value=shown(written))
    if out < least or (above and out == least):
        refuse("upkeep.too_small", value=shown(written), least=_words(least), above=above)
    if out > most:
        refuse("upkeep.too_large", value=shown(written), most=_words(most))
    return out


def _signs(value: object) -> str:
    """A number's own signs.  An endless integer is not written out: Python refuses past 4,300 digits."""
    if isinstance(value, int) and value.bit_length() > 192:
        return "-1e99" if value < 0 else "1e99"
    return str(value).strip()


def _words(bound: Decimal | int) -> str:
    return f"{bound:,f}" if isinstance(bound, Decimal) else f"{bound:,}"


def whole(value: object, least: int, most: int) -> int:
    """A whole number from ``least`` to ``most``; ``2.0`` is whole, ``1.5`` is not."""
    out = number(value, least, most)
    if out != out.to_integral_value():
        refuse("upkeep.not_whole", value=shown(value))
    return int(out)


def yes_or_no(value: object) -> bool:
    """``true`` or ``false``, as TOML writes them; nothing that only looks like one of them."""
    if not isinstance(value, bool):
        refuse("upkeep.not_yes_or_no", value=shown(value))
    return bool(value)


def sheets(value: object) -> int:
    """How many sheets: a whole number from 1 to 10,000."""
    return whole(value, 1, MOST_SHEETS)


def millimetres(value: object) -> int:
    return whole(value, 1, LONGEST_MM)


def decimal_places(value: object, whole_digits: int, places: int) -> Decimal:
    """A decimal that a column of so many digits can keep without rounding."""
    bound = Decimal(10) ** whole_digits
    out = number(value, -bound, bound)
    if abs(out) >= bound:
        refuse("upkeep.too_large", value=shown(value), most=_words(bound))
    if out != out.quantize(Decimal(1).scaleb(-places)):
        refuse("upkeep.too_many_places", value=shown(value), most=places)
    return out


def grid(value: object) -> int:
    """Minutes between the starts that members may choose: a step that begins anew at every midnight."""
    minutes = whole(value, least=1, most=24 * 60)
    if 24 * 60 % minutes:
        refuse("upkeep.uneven_grid", minutes=minutes)
    return minutes


def moment(value: str) -> datetime:
    """An ISO 8601 time with its offset (``Z`` or ``+hh:mm``), in UTC; refused without one."""
    written = value.strip().upper()
    if not _MOMENT.match(written):
        refuse("upkeep.not_a_time", value=shown(value))
    try:
        out = datetime.fromisoformat(written)
    except ValueError:
        refuse("upkeep.not_a_time", value=shown(value))
    if out.tzinfo is None:
        refuse("upkeep.no_offset", value=shown(value))
    if not 1900 <= out.year <= 2200:
        refuse("upkeep.implausible_year", value=shown(value))
    return out.astimezone(UTC)


def day(value: object) -> date:
    """A date, as TOML gives it or as ``YYYY-MM-DD``."""
    if isinstance(value, date) and not isinstance(value, datetime):
        out = value
    elif isinstance(value, str) and _DATE.fullmatch(value.strip()):
        try:
            out = date.fromisoformat(value.strip())
        except ValueError:
            refuse("upkeep.not_a_date", value=shown(value))
    else:
        refuse("upkeep.not_a_date", value=shown(value))
    if not 1900 <= out.year <= 2200:
        refuse("upkeep.implausible_year", value=shown(value))
    return out


def email(value: str) -> str:
    """An address with one @; its letters keep the case in which they were written."""
    out = text(value, 254)
    if not out.isascii() or not _EMAIL.fullmatch(out):
        refuse("upkeep.not_an_address", value=shown(out))
    return out


def zone_name(value: object) -> str:
    out = text(value, 60)
    if out not in available_timezones():
        refuse("upkeep.unknown_zone", value=shown(out))
    return out


def currency(value: object) -> str:
    out = text(value, 30)
    if not _CURRENCY.fullmatch(out):
        refuse("upkeep.not_a_currency", value=shown(out))
    return out


def currency_digits(letters: str) -> int:
    """How many decimals a currency has (ISO 4217): 2 for most, 0 for the yen, 3 for the Kuwaiti dinar."""
    return _DIGITS.get(letters, 2)


def one_of(words: Collection[str]) -> Callable[[object], str]:
    """A reader of one word out of ``words``; capitals do not matter."""

    def read(value: object) -> str:
        out = text(value).casefold()
        if out not in words:
            refuse("upkeep.not_one_of", value=shown(value), words=[f"“{word}”" for word in words])
        return out

    return read

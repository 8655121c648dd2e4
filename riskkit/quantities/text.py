"""How people write a value: number, "about", range, and what they put around them.

Nothing here knows what a unit is worth, only what one looks like.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = [
    "IN_TWO",
    "MOST_LETTERS",
    "NUMBER",
    "SPELLINGS",
    "VALUE",
    "brief",
    "cleaned",
    "count_of",
    "has_no_unit",
    "is_told_roughly",
    "misread",
    "one_line",
    "plain_text",
    "range_ends",
    "steering_letter",
    "tidied",
    "with_unit",
    "without_about",
]

MOST_LETTERS = 80  # of a value as written
MOST_SHOWN = 120  # letters of a cell or a name that a message shows

# control letters, marks that turn text around, separators of lines, halves of letters
_STEERING = ("Cc", "Cf", "Zl", "Zp", "Cs")
_PARTS_OF_WORDS = "\u200c\u200d\xad"

_DIGITS = r"(?:[1-9]\d{0,2}(?:,\d{3})+(?:\.\d*)?|\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_FRACTION = r"\d+\s*/\s*\d+"  # as on a tape: 18 1/2, 18-1/2, 1/2
NUMBER = rf"(?:\d+(?:\s+|\s*-\s*){_FRACTION}|{_FRACTION}|{_DIGITS})"
VALUE = re.compile(rf"\s*([-+]?)\s*({NUMBER})(?![\d.,])\s*(.*?)\s*$")
# two units in one value, the second of which goes without saying (5' 6, 4 min 30); ft2 is none
IN_TWO = tuple(
    (
        re.compile(
            rf"\s*([-+]?)\s*(\d+)\s*(?:{big})(?![23]\s*$)\s*-?\s*({NUMBER})\s*(?:{small})?\s*$",
            re.IGNORECASE,
        ),
        ratio,
        unit,
    )
    for big, small, ratio, unit in (
        ("ft|feet|foot|'", 'in|inch|inches|"', 12, "in"),
        ("min|minutes?", "s|sec|seconds?", 60, "s"),
        ("h|hr|hours?", "min|minutes?", 60, "min"),
    )
)
SPELLINGS = {
    "sq ft": "ft2", "sqft": "ft2", "sf": "ft2", "square feet": "ft2", "ft^2": "ft2",
    "sq m": "m2", "sqm": "m2", "square meters": "m2", "square metres": "m2", "m^2": "m2",
    "cu ft": "ft3", "cubic feet": "ft3", "%": "percent", "per cent": "percent",
    '"': "in", "'": "ft", "l": "L", "l/s": "L/s", "l/min": "L/min", "°F": "degF", "°C": "degC",
}  # fmt: skip

_SIGNS = str.maketrans(  # as phones and word processors write them
    {
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
        "’": "'", "′": "'", "”": '"', "“": '"', "″": '"', "º": "°", "˚": "°",
        "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-", "\u00a0": " ", "\u202f": " ",
    }
)  # fmt: skip
_POINT = re.compile(r"(?<=[A-Za-z])\.(?=\s|$)")  # of an abbreviation: in., sq. ft.
_JOINED = re.compile(r"(?<=\d)-(?=[A-Za-z])")  # 18-inch
_TAIL = re.compile(r"(?:(?<=[A-Za-z%\"'])\.|[\s,;])+$")
_BASIS = re.compile(r"(?<![,\s])(?:\s*;\s*|\s+)\(?(measured|given)\)?$", re.IGNORECASE)
_ABOUT_WORDS = r"about|approximately|approx\.?|around|roughly|circa|ca\.?|abt\.?"
_ABOUT = re.compile(rf"^(?:(?:{_ABOUT_WORDS})\s+|ca\.|[~≈]\s*)", re.IGNORECASE)
_ABOUT_LAST = re.compile(rf"(.*\d.*?)[\s,]+(?:{_ABOUT_WORDS}|or so)", re.IGNORECASE)
_FROM_TO = re.compile(r"(?:from|between)\s+(.+?)\s+(?:to|and)\s+(.+)", re.IGNORECASE)
_TO = re.compile(r"(.+?)\s+to\s+(.+)", re.IGNORECASE)
_SHARE = re.compile(r"\d+\s*/\s*\d+")  # 2/6 of the downspouts, not of a per cent
_LIKE_A_UNIT = re.compile(
    r"(?:[^\W\d_]|[ °%\"'/^²³]|(?<=[A-Za-z^])[23])*|(?:out\s+)?of\s*\d+", re.IGNORECASE
)
_ONE_END = re.compile(
    r"(?:[<>≤≥]|(?:no |not )?(?:less|more|fewer|greater) than\b|at (?:least|most)\b|up to\b"
    r"|(?:over|under|above|below|min|max|minimum|maximum)\b).*\d.*"
    r"|.*\d.*\bor (?:less|more|fewer|longer|shorter|deeper|higher|lower)\b.*"
    r"|.*\d\s*(?:[^\W\d_]|[\"'%])*\s*\+\s*(?:[^\W\d_]|[\"'%])*",
    re.IGNORECASE,
)
_TOLERANCE = re.compile(r".*\d.*(?:±|\+\s*/?\s*-)\s*\d.*")
_MANY = re.compile(
    r".*\d\s*(?:[^\W\d_]{1,12}|[\"'%])?\s*(?:×|\bx|(?<=\d)x|\bby\b|\bor\b|\band\b)\s*\d.*",
    re.IGNORECASE,
)


def steering_letter(text: str, allowed: str = "") -> str:
    """Find a letter that would steer a terminal, turn a line around or cannot be written.

    Parameters
    ----------
    text : str
        Any text.
    allowed : str
        Letters that do no harm here, such as the end of a line.

    Returns
    -------
    str
        The first such letter; empty where there is none.

    Examples
    --------
    >>> steering_letter("Alder Bend"), steering_letter("a\\x1b[31mb")
    ('', '\\x1b')
    """
    if text.isprintable():
        return ""
    return next(
        (
            letter
            for letter in dict.fromkeys(text)
            if unicodedata.category(letter) in _STEERING
            and letter not in allowed
            and letter not in _PARTS_OF_WORDS
        ),
        "",
    )


def cleaned(text: str, most: int) -> str:
    """Return one line of text that may be shown anywhere, from a file that nobody vouches for.

    Parameters
    ----------
    text : str
        Such as the name of a station.
    most : int
        Letters of it that are shown [-].

    Returns
    -------
    str
        With single spaces, and a question mark for each letter that steers; cut where it is long.

    Examples
    --------
    >>> cleaned("Alder\\n Bend\\x1b[31m", 120), cleaned("Alder Bend", 5)
    ('Alder Bend?[31m', 'Alder…')
    """
    line = brief(" ".join(text.split()), most)
    return "".join("?" if steering_letter(letter) else letter for letter in line)


def brief(text: str, most: int = MOST_SHOWN) -> str:
    """Cut a text that is too long for a message.

    Parameters
    ----------
    text : str
        Such as a cell of a table.
    most : int, optional
        Letters that are shown [-].

    Returns
    -------
    str
        At most so many letters, and a sign that there are more.

    Examples
    --------
    >>> brief("12.5"), len(brief("9" * 70000))
    ('12.5', 121)
    """
    return text if len(text) <= most else f"{text[:most]}…"


def tidied(text: str) -> str:
    """Take away what says nothing, such as a comma at the end.

    Parameters
    ----------
    text : str
        What was written.

    Returns
    -------
    str
        Without spaces, commas and the point of an abbreviation at its end; "measured" stands after
        a comma.

    Examples
    --------
    >>> tidied("20 in, "), tidied("20 in."), tidied("20 in (measured)"), tidied("20 in; measured")
    ('20 in', '20 in', '20 in, measured', '20 in, measured')
    """
    text = text.strip()
    return text if _is_long(text) else _BASIS.sub(r", \1", _TAIL.sub("", text))


def _is_long(text: str) -> bool:
    """Whether a text is no value, and not worth looking through."""
    return len(text) > 2 * MOST_LETTERS  # a sign such as ½ may become four letters


def one_line(text: str, instead: str = " ") -> str:
    """Return a text on one line, without letters that cannot be printed.

    Parameters
    ----------
    text : str
        The text.
    instead : str
        What stands for each of them.

    Returns
    -------
    str
        Words with one space between them.

    Examples
    --------
    >>> one_line("a\\n  home")
    'a home'
    """
    return " ".join("".join(c if c.isprintable() else instead for c in text).split())


def plain_text(text: str) -> str:
    """Write a text with the signs of a keyboard, and units without points.

    Parameters
    ----------
    text : str
        What was written.

    Returns
    -------
    str
        The same value.

    Examples
    --------
    >>> plain_text("24–28½ in."), plain_text("5’6”"), plain_text("18-inch")
    ('24-28 1/2 in', '5\\'6"', '18 inch')
    """
    return _JOINED.sub(" ", _POINT.sub("", text.translate(_SIGNS)))


def without_about(text: str) -> str:
    """Take the word away that says that a value is told roughly.

    Parameters
    ----------
    text : str
        What was written.

    Returns
    -------
    str
        The value without spaces around it; as long as before where it is not told roughly.

    Examples
    --------
    >>> without_about("about 20 in"), without_about("~20 in"), without_about("ca. 20 in")
    ('20 in', '20 in', '20 in')
    """
    return _ABOUT.sub("", text.strip())


def _is_value(text: str) -> bool:
    """Whether a plain text is one number and what may be a unit."""
    text = without_about(text)
    match = VALUE.match(text)
    return match is not None and (_LIKE_A_UNIT.fullmatch(match[3]) is not None or _is_in_two(text))


def _is_in_two(text: str) -> bool:
    return any(pattern.match(text) for pattern, _, _ in IN_TWO)


def _parts(text: str) -> tuple[str, ...]:
    """The two ends of a range as written, or the text where it is none.

    A stroke goes between two ends only where it does not stand within one value: 1-1/2 in and
    5'-6" are one.
    """
    plain = plain_text(text).strip()
    if _is_long(plain) or _ONE_END.fullmatch(plain):
        return (plain,)
    words = _FROM_TO.fullmatch(plain) or _TO.fullmatch(plain)
    if words:
        return words.groups()
    if _is_value(plain):
        return (plain,)
    for stroke in re.finditer("-", plain):
        first, last = plain[: stroke.start()].strip(), plain[stroke.end() :].strip()
        if _is_value(first) and _is_value(last):
            return first, last
    return (plain,)


def count_of(text: str, most: int) -> int | None:
    """Read a count, written in digits.

    Parameters
    ----------
    text : str
        What stands there.
    most : int
        Greatest count, below a thousand million [-].

    Returns
    -------
    int or None
        The count; None where it is none, or is greater [-].

    Examples
    --------
    >>> [count_of(text, 40) for text in (" 12", "41", "-1", "²", "")]
    [12, None, None, None, None]
    """
    digits = text.strip()
    # Python refuses thousands of digits with an error of its own
    if not (digits.isascii() and digits.isdecimal() and len(digits) < 10):
        return None
    count = int(digits)
    return count if count <= most else None


def range_ends(text: str) -> tuple[str, ...]:
    """Return the two ends of a range, each with its unit.

    Parameters
    ----------
    text : str
        What was written, without ", measured".

    Returns
    -------
    tuple of str
        Two ends, or one value where it is not a range; none of them says "about".

    Examples
    --------
    >>> range_ends("16 to about 20 in"), range_ends("24–28 in"), range_ends("1-1/2 in")
    (('16 in', '20 in'), ('24 in', '28 in'), ('1-1/2 in',))
    >>> range_ends("5'-6\\""), range_ends("5 to 6' 6"), range_ends("-4 - -2 in")
    (('5\\'-6"',), ("5 '", "6' 6"), ('-4 in', '-2 in'))
    """
    parts = [without_about(part) for part in _parts(text)]
    last = VALUE.match(parts[-1]) if len(parts) == 2 else None
    if last is None or not _is_bare(parts[0]):
        return tuple(parts)
    unit = last[3]
    if _is_in_two(parts[1]):  # 5 to 6' 6: the feet stand once
        unit = re.split(r"[\s\d-]", unit, maxsplit=1)[0]
    return f"{parts[0]} {unit}".strip(), parts[1]


def is_told_roughly(text: str) -> bool:
    """Tell whether a value, or an end of a range, is told with "about".

    Parameters
    ----------
    text : str
        What was written.

    Returns
    -------
    bool
        True for ``"~20 in"`` and ``"16 to about 20 in"``.

    Examples
    --------
    >>> is_told_roughly("16 to about 20 in"), is_told_roughly("16 to 20 in")
    (True, False)
    """
    return any(without_about(part) != part for part in _parts(text))


def _is_bare(text: str) -> bool:
    return re.fullmatch(rf"[-+]?\s*{NUMBER}", text) is not None


def has_no_unit(text: str) -> bool:
    """Tell whether a text is a number, or the two ends of a range, and nothing more.

    Parameters
    ----------
    text : str
        What was written.

    Returns
    -------
    bool
        True where a unit may be written after it.

    Examples
    --------
    >>> has_no_unit("18 1/2"), has_no_unit("16-20"), has_no_unit("1,200"), has_no_unit("2 of 6")
    (True, True, True, False)
    """
    return all(map(_is_bare, range_ends(text)))


def with_unit(text: str, unit: str) -> str:
    """Add the unit that a form shows where a person wrote none.

    Parameters
    ----------
    text : str
        What was typed.
    unit : str
        The unit that the form shows; nothing or ``"1"`` where there is none.

    Returns
    -------
    str
        The text without spaces around it, with its unit.

    Examples
    --------
    >>> with_unit("18 1/2", "in"), with_unit("16 to 20 ", "cm"), with_unit("2 ft", "in")
    ('18 1/2 in', '16 to 20 cm', '2 ft')
    >>> with_unit("24–28,", "in"), with_unit("30", "%"), with_unit("2/6", "%")
    ('24–28 in', '30 %', '2/6')
    """
    text = text.strip()
    if unit in ("", "1") or len(text) > MOST_LETTERS:  # too long for a value, which will be said
        return text
    tidy = tidied(text)
    is_share = unit == "%" and any(map(_SHARE.fullmatch, range_ends(tidy)))
    return f"{tidy} {unit}" if has_no_unit(tidy) and not is_share else tidy


def misread(text: str) -> str:
    """Say why a text cannot be read as a value, where people often write it so.

    Parameters
    ----------
    text : str
        What was written.

    Returns
    -------
    str
        What is wrong, to go after the text; empty where nothing better can be said than that a
        number or a unit is not known.

    Examples
    --------
    >>> misread("<5 min"), misread("18 x 24 in")
    ('tells one end of a range only', 'holds two numbers')
    """
    plain = plain_text(text).strip()
    if _is_long(plain):
        return ""
    if _TOLERANCE.fullmatch(plain):
        return "has a tolerance, which is told as a range"
    if _ONE_END.fullmatch(plain):
        return "tells one end of a range only"
    if _MANY.fullmatch(plain):
        return "holds two numbers"
    if re.fullmatch(r"\d+:\d\d(?:\s*[A-Za-z]+)?", plain):
        return 'has a colon, where it would be "4 min 30 s"'
    last = _ABOUT_LAST.fullmatch(plain)
    if last:
        return f'has its "about" last, not first as in "about {last[1]}"'
    return "is a range where one value is wanted" if len(_parts(plain)) == 2 else ""

"""Settings as plan.json keeps them: how a plan was made.

In: `Settings`, or their JSON form.  Out: the other one.  Always true: what is written is read back as equal settings; a
setting that is missing (it came later) has its default.
"""

from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from enum import StrEnum
from math import isfinite
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

from optimizer.errors import UsageError
from optimizer.settings import Settings


def settings_to_json(settings: Settings) -> dict[str, object]:
    """An object for JSON; the same settings give the same text."""
    return {field.name: _plain(getattr(settings, field.name)) for field in fields(settings)}


def settings_from_json(document: object) -> Settings:
    """The settings of a plan.json; UsageError where they are none."""
    try:
        settings: Settings = _read(Settings, document)
    except (TypeError, ValueError, AttributeError, OverflowError) as error:
        raise UsageError(f"plan.json: its settings cannot be read ({error})") from None
    return settings


def _plain(value: object) -> object:
    """Records as objects, words in place of their names, tuples as lists."""
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(value[key]) for key in sorted(value)}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value.value if isinstance(value, StrEnum) else value


def _read(kind: Any, entry: Any) -> Any:
    """An entry as a value of this type; TypeError or ValueError where it is none."""
    arguments = get_args(kind)
    if isinstance(kind, UnionType):
        return None if entry is None else _read(arguments[0], entry)
    if get_origin(kind) is tuple:
        return tuple(_read(arguments[0], each) for each in _of(list, entry))
    if get_origin(kind) is Mapping:
        return {key: _read(arguments[1], value) for key, value in _of(dict, entry).items()}
    if is_dataclass(kind):
        return _read_record(kind, _of(dict, entry))
    if issubclass(kind, StrEnum):
        return kind(entry)
    return _number(entry) if kind is float else _of(kind, entry)


def _number(entry: object) -> float:
    """JSON as Python reads it has Infinity and NaN."""
    number = float(_of((int, float), entry))
    if not isfinite(number):
        raise ValueError(f"{number} is no number to work with")
    return number


def _read_record(kind: Any, entry: Mapping[str, object]) -> Any:
    types = get_type_hints(kind)
    if unknown := entry.keys() - types.keys():
        raise ValueError(f"nothing is known of {min(unknown)}")
    for field in fields(kind):
        if field.name not in entry and field.default is MISSING and field.default_factory is MISSING:
            raise ValueError(f"{field.name} is missing")
    return kind(**{name: _read(types[name], value) for name, value in entry.items()})


def _of(kind: Any, entry: Any) -> Any:
    """The entry, if it is of this type; a truth is no number."""
    if not isinstance(entry, kind) or (isinstance(entry, bool) and kind is not bool):
        raise TypeError(f"{entry!r} does not belong there")
    return entry

"""Frozen dataclasses to plain JSON values and back, for pipes, captures and run files.

Enums travel as their values, tuples as lists, bytes as latin-1 text. NaN and infinity are refused
on the way out: unknown is None here.
"""

import math
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import lru_cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints


def to_plain(value: Any) -> Any:
    """Dataclass, enum, tuple, dict or scalar to JSON-ready values; ValueError on nan or inf."""
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{value!r} has no place in a record; unknown is None")
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, bytes):
        return value.decode("latin-1")
    kind: Any = type(value)
    if _has_names(kind):
        return {name: to_plain(getattr(value, name)) for name in _names(kind)}
    if isinstance(value, dict):
        return {str(key): to_plain(item) for key, item in value.items()}
    return [to_plain(item) for item in value]


def from_plain(kind: Any, plain: Any) -> Any:
    """Rebuild a dataclass from ``to_plain``'s form; TypeError or ValueError if it does not fit."""
    return _builder(kind)(plain)


@lru_cache(maxsize=256)
def _has_names(kind: Any) -> bool:
    """Whether it is a dataclass or a tuple with names."""
    return is_dataclass(kind) or hasattr(kind, "_fields")


@lru_cache(maxsize=256)
def _names(kind: Any) -> tuple[str, ...]:
    return tuple(item.name for item in fields(kind)) if is_dataclass(kind) else kind._fields


@lru_cache(maxsize=512)
def _builder(kind: Any) -> Callable[[Any], Any]:
    origin = get_origin(kind)
    if origin in (Union, UnionType):
        return _union(get_args(kind))
    if origin is tuple:
        item = _builder(get_args(kind)[0])
        if len(get_args(kind)) == 2 and get_args(kind)[1] is Ellipsis:
            return lambda plain: tuple(item(entry) for entry in plain)
        builders = [_builder(arg) for arg in get_args(kind)]
        return lambda plain: tuple(b(e) for b, e in zip(builders, plain, strict=True))
    if origin is dict:
        return dict
    if _has_names(kind):
        return _dataclass(kind)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind
    if kind is bytes:
        return lambda plain: plain.encode("latin-1")
    if kind is float:
        return lambda plain: float(plain)
    return lambda plain: plain


def _union(kinds: tuple[Any, ...]) -> Callable[[Any], Any]:
    inner = [kind for kind in kinds if kind is not NoneType]
    if len(inner) != 1:  # float | str and the like: scalars pass as they are
        return lambda plain: plain
    build = _builder(inner[0])
    return lambda plain: None if plain is None else build(plain)


def _dataclass(kind: Any) -> Callable[[Any], Any]:
    hints = get_type_hints(kind)
    builders = {name: _builder(hints[name]) for name in _names(kind)}

    def build(plain: Any) -> Any:
        return kind(**{name: builders[name](value) for name, value in plain.items()})

    return build

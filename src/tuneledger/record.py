"""A record: a dataclass that nothing changes once it is made.

The type checker holds that (`frozen_default`); at run time nothing stands in the way and nothing is
paid for. `dataclasses` would compile six methods anew for each class, which over two hundred
classes is a tenth of a short run; here only `__init__` is, and what all records do alike is written
once. `fields`, `replace` and `field` of `dataclasses` serve records as they are.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields
from operator import attrgetter
from typing import Any, TypeVar, dataclass_transform, overload

T = TypeVar("T")
_getters: dict[type, Callable[[Any], Any]] = {}


@overload
def record(cls: type[T], /) -> type[T]: ...


@overload
def record(*, eq: bool = True) -> Callable[[type[T]], type[T]]: ...


@dataclass_transform(frozen_default=True)
def record(cls: type[T] | None = None, /, *, eq: bool = True) -> Any:
    """Makes a class a record of the fields it names.

    Two are equal, and hash alike, where they are of one class and all fields but those said to be
    left out (`field(compare=False)`) are equal; with `eq=False`, as for records that hold arrays,
    a record is equal to itself alone.
    """

    def made(cls: type[T]) -> type[T]:
        own = vars(cls)
        cls = dataclass(eq=False, repr=False)(cls)
        if "__repr__" not in own:
            cls.__repr__ = _shown  # type: ignore[method-assign]
        if eq and "__eq__" not in own:
            cls.__eq__ = _equal  # type: ignore[method-assign]
            cls.__hash__ = _hashed  # type: ignore[method-assign]
        return cls

    return made if cls is None else made(cls)


def _shown(self: Any) -> str:
    shown = (f"{f.name}={getattr(self, f.name)!r}" for f in fields(self) if f.repr)
    return f"{type(self).__qualname__}({', '.join(shown)})"


def _equal(self: Any, other: object) -> Any:
    if other.__class__ is not self.__class__:
        return NotImplemented
    if other is self:
        return True
    compared = _compared(type(self))
    return compared(self) == compared(other)


def _hashed(self: Any) -> int:
    return hash(_compared(type(self))(self))


def _compared(cls: type) -> Callable[[Any], Any]:
    """What of a record counts for equality: looked for when two are first compared."""
    if cls not in _getters:
        names = [f.name for f in fields(cls) if f.compare]
        _getters[cls] = attrgetter(*names) if names else lambda _: ()
    return _getters[cls]

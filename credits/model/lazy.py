"""Sequences and mappings of which no more is read than somebody looks at."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar, overload

T = TypeVar("T")
V = TypeVar("V")


class Read(Sequence[V]):
    """A sequence that is read when somebody first looks at it.

    length: how long it is, where that is known before. keep: False: it is read each time that
    somebody looks at it, and takes no memory between.
    """

    def __init__(
        self, read: Callable[[], tuple[V, ...]], length: int | None = None, *, keep: bool = True
    ) -> None:
        self._read = read
        self._length = length
        self._keep = keep
        self._known: tuple[V, ...] | None = None

    @property
    def all(self) -> tuple[V, ...]:
        """Return everything in it."""
        if self._known is not None:
            return self._known
        read = self._read()
        if self._keep:
            self._known = read
        return read

    @overload
    def __getitem__(self, at: int) -> V: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[V, ...]: ...
    def __getitem__(self, at: int | slice) -> V | tuple[V, ...]:
        return self.all[at]

    def __len__(self) -> int:
        return len(self.all) if self._length is None else self._length

    def __iter__(self) -> Iterator[V]:
        return iter(self.all)

    def __eq__(self, other: object) -> bool:
        return self.all == (other.all if isinstance(other, Read) else other)

    __hash__ = None  # type: ignore[assignment]


class Listed(Read[V]):
    """A table of which facts are found by their fields until somebody looks at all of it.

    find: returns the facts that have a value in a field; of the field KEY, the one of a code.
    size: says about how many facts there are.
    """

    def __init__(
        self,
        read: Callable[[], tuple[V, ...]],
        find: Callable[[str, object], tuple[V, ...]],
        size: Callable[[], int],
    ) -> None:
        super().__init__(read)
        self._find = find
        self._size = size

    @property
    def most(self) -> int:
        """Return of how many keys single facts are found: for more it is quicker to read all."""
        return max(FEW, self._size() // AS_QUICK)

    def having(self, field: str, value: object) -> tuple[V, ...]:
        """Return the facts that have a value in a field, in the order of the table.

        value: of several, a tuple.
        """
        return self._find(field, value)

    def of_key(self, key: str) -> V | None:
        """Return the fact of a folded code; None: there is none."""
        return next(iter(self._find(KEY, key)), None)


FEW = 64
"""Of so many keys single facts are found, however short the table is."""
AS_QUICK = 16
"""So many facts are read in the time in which a single one is found."""
KEY = "key"
"""Stands for the folded code of a fact where its fields are named."""


class _Keyed(Mapping[T, V]):
    """A mapping of which the keys are read when somebody first looks at them."""

    @abstractmethod
    def _all(self) -> Mapping[T, object]:
        """Return the keys, in their order."""

    def __contains__(self, key: object) -> bool:
        return key in self._all()

    def __iter__(self) -> Iterator[T]:
        return iter(self._all())

    def __len__(self) -> int:
        return len(self._all())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Mapping) and dict(self) == dict(other)

    __hash__ = None  # type: ignore[assignment]


class Looked(_Keyed[T, V]):
    """A mapping of which each value is read when it is first asked for.

    names: reads all keys in their order. read: reads the value of one; None: it has none.
    most: how many values are held; None: all. One that is no longer held is read again.
    """

    def __init__(
        self,
        names: Callable[[], Sequence[T]],
        read: Callable[[T], V | None],
        most: int | None = None,
    ) -> None:
        self._names = names
        self._read = read
        self._most = most
        self._known: dict[T, V | None] = {}
        self._keys: dict[T, None] | None = None

    def _all(self) -> dict[T, None]:
        if self._keys is None:
            self._keys = dict.fromkeys(self._names())
        return self._keys

    def __getitem__(self, key: T) -> V:
        if key not in self._known:
            if self._most is not None and len(self._known) >= self._most:
                self._known.clear()
            self._known[key] = self._read(key)
        value = self._known[key]
        if value is None:
            raise KeyError(key)
        return value


class LookedInPart(Looked[T, V]):
    """A mapping of which each value is read when it is first asked for, or a part of it alone.

    part: reads of the value of a key what is wanted most often; core: even less; None: no less.
    """

    def __init__(
        self,
        names: Callable[[], Sequence[T]],
        read: Callable[[T], V | None],
        part: Callable[[T], V | None],
        core: Callable[[T], V | None] | None = None,
    ) -> None:
        super().__init__(names, read)
        self.part = Looked(names, part)
        self.core = self.part if core is None else Looked(names, core)


class MadeMapping(_Keyed[T, V]):
    """A mapping that is made when somebody first looks at it."""

    def __init__(self, make: Callable[[], dict[T, V]]) -> None:
        self._make = make
        self._known: dict[T, V] | None = None

    def _all(self) -> dict[T, V]:
        if self._known is None:
            self._known = self._make()
        return self._known

    def __getitem__(self, key: T) -> V:
        return self._all()[key]


class Singly(_Keyed[T, V]):
    """A mapping of which single values are found, until somebody looks at many or at all.

    table: what it is made of. make: makes all of it. find: finds the value of a key; None: it has
    none.
    """

    def __init__(
        self, table: Listed[Any], make: Callable[[], dict[T, V]], find: Callable[[T], V | None]
    ) -> None:
        self._table = table
        self._make = make
        self._find = find
        self._some: dict[object, V | None] = {}
        self._whole: dict[T, V] | None = None

    def _all(self) -> dict[T, V]:
        if self._whole is None:
            self._whole = self._make()
        return self._whole

    def _value(self, key: Any) -> V | None:
        if self._whole is not None:
            return self._whole.get(key)
        if key not in self._some:
            if len(self._some) >= FEW and len(self._some) >= self._table.most:
                return self._all().get(key)
            self._some[key] = self._find(key)
        return self._some[key]

    def get(self, key: Any, default: Any = None) -> Any:
        """Return the value of a key, else another."""
        value = self._value(key)
        return default if value is None else value

    def __getitem__(self, key: T) -> V:
        if self._whole is not None:
            return self._whole[key]
        value = self._value(key)
        if value is None:
            raise KeyError(key)
        return value

    def __contains__(self, key: object) -> bool:
        return self._value(key) is not None


def made_of(facts: Sequence[Any], make: Callable[[], dict[T, V]]) -> Mapping[T, V]:
    """Return the mapping that is made of some facts; not before they are read themselves."""
    return MadeMapping(make) if isinstance(facts, Read) else make()


class Changed(Mapping[T, V]):
    """A mapping with some of its values changed, of which no more is read than before.

    keys: those of which the values are others now. read: makes such a value of the one that was;
    None: there is none.
    """

    def __init__(
        self, before: Mapping[T, V], keys: Iterable[T], read: Callable[[T, V | None], V | None]
    ) -> None:
        self._before = before
        self._others = dict.fromkeys(keys)
        self._read = read
        self._known: dict[T, V | None] = {}

    def _other(self, key: T) -> V | None:
        if key not in self._known:
            self._known[key] = self._read(key, self._before.get(key))
        return self._known[key]

    def __getitem__(self, key: T) -> V:
        if key not in self._others:
            return self._before[key]
        value = self._other(key)
        if value is None:
            raise KeyError(key)
        return value

    def __contains__(self, key: object) -> bool:
        if key in self._others:
            return self._other(key) is not None
        return key in self._before

    def __iter__(self) -> Iterator[T]:
        new = (key for key in self._others if key not in self._before)
        return (key for key in (*self._before, *new) if key in self)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Mapping) and dict(self) == dict(other)

    __hash__ = None  # type: ignore[assignment]

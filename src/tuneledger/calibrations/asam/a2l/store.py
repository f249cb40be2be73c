"""A description with an image: the parameters with their numbers."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray, frozen
from tuneledger.calibrations.asam.a2l.conversions import Converted, read_method
from tuneledger.calibrations.asam.a2l.described import AxisSaid, Said
from tuneledger.calibrations.asam.a2l.description import Description, Module
from tuneledger.calibrations.asam.a2l.layouts import Layout, byte_order
from tuneledger.calibrations.asam.a2l.numbers import (
    VALUES,
    Parts,
    beyond,
    masked,
    shaped,
    stored_steps,
    text_of,
)
from tuneledger.calibrations.asam.a2l.records import Record
from tuneledger.calibrations.asam.images import Image
from tuneledger.calibrations.asam.parameter import (
    AXES,
    Entry,
    NotRepresentedError,
    Parameter,
    ParameterAxis,
)
from tuneledger.calibrations.tree import quoted


@dataclass(frozen=True, slots=True)
class Described:
    """The parameters of a description; their numbers where there is an image.

    order: of bytes, "MSB_FIRST" or "MSB_LAST", for what the description leaves open
    """

    description: Description
    image: Image | None = None
    order: str | None = None

    @property
    def notes(self) -> tuple[str, ...]:
        return (*self.description.notes, *(self.image.notes if self.image else ()))

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(self.description.blocks)

    def entries(self) -> Iterator[Entry]:
        for name, (block, _) in self.description.blocks.items():
            try:
                said, module = self.description.said(name)
                unit = said.unit or self._unit(said, module)
                size = " × ".join(map(str, said.shape or [axis.most for axis in said.axes]))
                entry = Entry(name, said.kind, size, unit, said.says)
                if self.image is not None:
                    self.get(name)
                else:
                    self._check(said, module)
            except NotRepresentedError as problem:
                texts = [item for item in block.items[1:2] if isinstance(item, str)]
                entry = Entry(name, _kind(block.items), "", "", "".join(texts), str(problem))
            yield entry

    def get(self, name: str) -> Parameter:
        """One parameter, with its numbers out of the image."""
        if self.image is None:
            raise NotRepresentedError("there is no image, and so no number")
        said, module = self.description.said(name)
        layout = module.layout(said.layout)
        common = [self._common(axis) for axis in said.axes]
        record = self._record(said, layout, module, common)
        parts = record.parts()
        where = f"0x{said.address:08X} in {self.image.name}"
        if said.kind == "text":
            text = text_of(parts.get(VALUES))
            return Parameter(name, "text", np.empty(0), says=said.says, text=text, where=where)
        if said.kind == "axis":
            points = self._points(said.axes[0], "x", parts, module)
            unit = self._unit(said, module)
            return Parameter(name, "axis", points, unit, said.says, where=where)
        found = self._values(said, record, parts, module)
        unit = self._unit(said, module)
        axes = tuple(
            shared or self._axis(axis, AXES[index], parts, module)
            for index, (axis, shared) in enumerate(zip(said.axes, common, strict=True))
        )
        return Parameter(
            name,
            said.kind,
            found.numbers,
            unit,
            said.says,
            axes or tuple(ParameterAxis(None) for _ in said.shape),
            found.words,
            where=where,
            notes=beyond(said, found, unit),
        )

    def _values(self, said: Said, record: Record, parts: Parts, module: Module) -> Converted:
        part, stored = record.layout.part("FNC_VALUES"), parts.get(VALUES)
        if part is None or stored is None:
            raise NotRepresentedError(
                f"its record layout {quoted(record.layout.name)} holds no values"
            )
        raw = shaped(masked(stored, said.mask, part.number), record, part.told[0])
        found = read_method(said.method, module.methods, module.tables).convert(raw, said.limits)
        frozen(found.numbers)
        return found

    def _record(
        self, said: Said, layout: Layout, module: Module, common: list[ParameterAxis | None]
    ) -> Record:
        assert self.image is not None
        sizes = said.shape or tuple(axis.most for axis in said.axes)
        most = dict(zip(AXES, sizes, strict=False))
        counts = {
            name: len(axis.points)
            for name, axis in zip(AXES, common, strict=False)
            if axis is not None and axis.points is not None
        }
        for name, axis in zip(AXES, said.axes, strict=False):
            if axis.points is not None:
                counts[name] = len(axis.points)
        for name, fixed in layout.fixed.items():
            if name in most and counts.setdefault(name, fixed) != min(fixed, most[name]):
                raise NotRepresentedError(f"its layout has {fixed} points along {name}, it others")
        order = byte_order(said.order, module.order) or byte_order(self.order)
        return Record(self.image, said.address, layout, order, most, counts)

    def _common(self, axis: AxisSaid) -> ParameterAxis | None:
        """The points of a common axis, out of its own record; None for other axes."""
        if axis.kind != "COM_AXIS":
            return None
        try:
            found = self.get(axis.common)
        except KeyError:
            raise NotRepresentedError(
                f"its axis {quoted(axis.common)} is not in the description"
            ) from None
        except NotRepresentedError as problem:
            raise NotRepresentedError(f"its axis {quoted(axis.common)}: {problem}") from None
        if found.kind != "axis":
            raise NotRepresentedError(f"its axis {quoted(axis.common)} is a {found.kind}")
        return ParameterAxis(found.values, axis.unit or found.unit, axis.reads)

    def _axis(self, axis: AxisSaid, name: str, parts: Parts, module: Module) -> ParameterAxis:
        points = self._points(axis, name, parts, module)
        unit = axis.unit or read_method(axis.method, module.methods, module.tables).unit
        return ParameterAxis(points, unit, axis.reads)

    def _points(self, axis: AxisSaid, name: str, parts: Parts, module: Module) -> FloatArray:
        raw = parts.get(("AXIS_PTS", name))
        if axis.kind == "FIX_AXIS":
            raw = np.asarray(axis.points or stored_steps(axis, name, parts), dtype=np.float64)
        elif raw is None:
            raise NotRepresentedError(f"its record has no points for its axis {name}")
        method = read_method(axis.method, module.methods, module.tables)
        found = method.convert(raw, axis.limits)
        frozen(found.numbers)
        return found.numbers

    def _unit(self, said: Said, module: Module) -> str:
        return said.unit or read_method(said.method, module.methods, module.tables).unit

    def _check(self, said: Said, module: Module) -> None:
        """Whatever can be told without an image."""
        module.layout(said.layout)
        for axis in said.axes:
            read_method(axis.method, module.methods, module.tables)
            if axis.kind == "COM_AXIS" and axis.common not in self.description.blocks:
                raise NotRepresentedError(
                    f"its axis {quoted(axis.common)} is not in the description"
                )


def _kind(items: list[Any]) -> str:
    """What a characteristic says that it is, for one that cannot be read."""
    return str(items[2]).casefold() if len(items) > 2 and isinstance(items[2], str) else ""

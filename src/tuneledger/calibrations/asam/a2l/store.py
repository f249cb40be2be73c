"""A description with an image: the parameters with their numbers."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray, frozen
from tuneledger.calibrations.asam.a2l.blocks import Block
from tuneledger.calibrations.asam.a2l.conversions import Converted, read_method
from tuneledger.calibrations.asam.a2l.described import AxisSaid, Said
from tuneledger.calibrations.asam.a2l.description import Description, Module
from tuneledger.calibrations.asam.a2l.layouts import Layout, byte_order
from tuneledger.calibrations.asam.a2l.linked import check_lead, common_axis, through_pairs
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
from tuneledger.calibrations.asam.through import DEEPEST, Link, in_a_circle, through, through_curve
from tuneledger.calibrations.tree import quoted
from tuneledger.record import record

Shared = ParameterAxis | Link | None


@record
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
    def holds(self) -> str:
        return f"{self.image.name} holds {self.image.spans}" if self.image else ""

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
                entry = Entry(name, _kind(block), "", "", "".join(texts), str(problem))
            yield entry

    def get(self, name: str) -> Parameter:
        """One parameter, with its numbers out of the image."""
        return self._get(name, ())

    def _get(self, name: str, inside: tuple[str, ...]) -> Parameter:
        """`inside`: the parameters whose axes led here, outermost first."""
        if self.image is None:
            raise NotRepresentedError("there is no image, and so no number")
        said, module = self.description.said(name)
        layout = module.layout(said.layout)
        _own(said, layout)
        shared = [self._shared(axis, (*inside, name)) for axis in said.axes]
        record = self._record(said, layout, module, shared)
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
        axes = [
            other or self._axis(axis, AXES[index], parts, module)
            for index, (axis, other) in enumerate(zip(said.axes, shared, strict=True))
        ]
        made, values, told = through(axes, name, found.numbers, found.words)
        frozen(values)
        return Parameter(
            name,
            said.kind,
            values,
            unit,
            said.says,
            made or tuple(ParameterAxis(None) for _ in said.shape),
            found.words,
            where=where,
            notes=(*beyond(said, found, unit), *told),
        )

    def _values(self, said: Said, record: Record, parts: Parts, module: Module) -> Converted:
        part, stored = record.layout.part("FNC_VALUES"), parts.get(VALUES)
        if part is None or stored is None:
            raise NotRepresentedError(
                f"its record layout {quoted(record.layout.name)} holds no values"
            )
        raw = shaped(masked(stored, said.mask, part.number), record, part.told[0])
        return read_method(said.method, module.methods, module.tables).convert(raw, said.limits)

    def _record(
        self, said: Said, layout: Layout, module: Module, shared: Sequence[Shared]
    ) -> Record:
        assert self.image is not None
        sizes = said.shape or tuple(axis.most for axis in said.axes)
        most = dict(zip(AXES, sizes, strict=False))
        told = zip(AXES, map(_points_told, shared), strict=False)
        counts = {name: points for name, points in told if points is not None}
        for name, axis in zip(AXES, said.axes, strict=False):
            if axis.points is not None:
                counts[name] = len(axis.points)
        for name, fixed in layout.fixed.items():
            if name in most and counts.setdefault(name, fixed) != min(fixed, most[name]):
                raise NotRepresentedError(f"its layout has {fixed} points along {name}, it others")
        order = byte_order(said.order, module.order) or byte_order(self.order)
        return Record(self.image, said.address, layout, order, most, counts)

    def _shared(self, axis: AxisSaid, inside: tuple[str, ...]) -> Shared:
        """What another parameter says of an axis; None for an axis of its own."""
        if not axis.common:
            return None
        if axis.common in inside or len(inside) > DEEPEST:
            raise in_a_circle(axis.common)
        try:
            if axis.kind == "RES_AXIS":
                return self._rescale(axis)
            found = self._get(axis.common, inside)
            if axis.kind == "COM_AXIS":
                return common_axis(found, axis.unit or "", axis.reads)
            said, module = self.description.said(axis.common)
            names = (said.method, *self._methods(said))
            straight = all(
                read_method(one, module.methods, module.tables).straight for one in names
            )
            return through_curve(found, straight=straight)
        except KeyError:
            raise _absent(axis) from None
        except NotRepresentedError as problem:
            raise NotRepresentedError(f"its axis {quoted(axis.common)}: {problem}") from None

    def _methods(self, curve: Said) -> Iterator[str]:
        """The conversion of a curve's points, be they its own or another parameter's."""
        for axis in curve.axes:
            if axis.kind in ("COM_AXIS", "RES_AXIS"):
                yield self.description.said(axis.common)[0].method
            yield axis.method

    def _rescale(self, axis: AxisSaid) -> Link:
        """An axis by the rescale pairs of an AXIS_PTS, out of its own record."""
        said, module = self.description.said(axis.common)
        layout = module.layout(said.layout)
        part = layout.part("AXIS_RESCALE", "x")
        if said.kind != "axis" or part is None:
            raise NotRepresentedError("it has no rescale pairs")
        record = self._record(said, layout, module, [None])
        pairs = record.parts()[part.what, part.axis]
        method = read_method(said.method, module.methods, module.tables)
        counted = record.counts.get("x")

        def physical(raw: FloatArray) -> FloatArray:
            return method.convert(raw, said.limits).numbers

        told = (axis.unit or said.unit or method.unit, axis.reads)
        return through_pairs(said.name, pairs, part, counted, told, physical)

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
        _own(said, module.layout(said.layout))
        for axis in said.axes:
            read_method(axis.method, module.methods, module.tables)
            check_lead(axis, lambda name: self.description.said(name)[0], (said.name,))


def _own(said: Said, layout: Layout) -> None:
    """Refuse rescale pairs where they are not behind an axis of another parameter."""
    if any(part.what == "AXIS_RESCALE" for part in layout.parts):
        alone = "it holds rescale pairs; the tables over it have their points"
        within = "rescale pairs stand in its own record"
        raise NotRepresentedError(alone if said.kind == "axis" else within)


def _points_told(shared: Shared) -> int | None:
    """How many points an axis has by what another parameter says."""
    if isinstance(shared, Link):
        return shared.count
    return None if shared is None or shared.points is None else len(shared.points)


def _absent(axis: AxisSaid) -> NotRepresentedError:
    return NotRepresentedError(f"its axis {quoted(axis.common)} is not in the description")


def _kind(block: Block) -> str:
    """What a parameter says that it is, for one that cannot be read."""
    items = block.items
    if block.name == "AXIS_PTS":
        return "axis"
    return str(items[2]).casefold() if len(items) > 2 and isinstance(items[2], str) else ""

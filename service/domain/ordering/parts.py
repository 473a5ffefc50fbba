"""Parts: the parts of an order, one for each proposal that it is for, as they were placed, called off and received."""

from collections.abc import Mapping, Sequence
from datetime import date

from service.domain.kinds.order_cancelled import OrderCancelled
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.kinds.stock_received import StockReceived
from service.domain.ordering.acts import Acts, Said, deed_of
from service.domain.ordering.authority import counts
from service.domain.ordering.lines import Line, delivered, with_arriving
from service.domain.ordering.naming import Need
from service.domain.ordering.order import Arrival, Deed, Order
from service.domain.ordering.reach import reaches
from service.domain.ordering.units import UnitOf
from service.domain.stock.lines import is_alike
from service.domain.world import World


class Parts:
    """Puts orders together from the acts about them."""

    def __init__(self, acts: Acts, needs: Mapping[str, Need], world: World, unit: UnitOf) -> None:
        self._acts = acts
        self._needs = needs
        self._world = world
        self._unit = unit

    def order(self, number: str, placements: Mapping[str, Sequence[Said[OrderPlaced]]]) -> tuple[Order, ...]:
        """Give the parts of an order, that placed first before the others, with what has come of each."""
        receipts = self._acts.receipts.get(number, [])
        first = sorted(placements, key=lambda proposal: (placements[proposal][0].at, proposal))
        begun = [self._begun(placements[proposal]) for proposal in first]
        told = delivered([line for order in begun for line in order.lines], (said.event for said in receipts))
        lines = iter(with_arriving(told, (said.event for said in self._acts.arriving.get(number, ()))))
        return tuple(
            Order(
                order=number,
                proposal=order.proposal,
                site=order.site,
                supplier=order.supplier,
                expected_on=order.expected_on,
                placed=order.placed,
                placed_on=order.placed_on,
                lines=tuple(next(lines) for _ in order.lines),
                arrivals=tuple(self._arrival(said) for said in receipts),
                cancelled=self._cancelled(number, order.proposal, order.site),
            )
            for order in begun
        )

    def _site(self, said: OrderPlaced) -> str | None:
        need = self._needs.get(said.proposal)
        return said.site if need is None else need.site

    def _calling_off(self, number: str, proposal: str, site: str | None) -> list[Said[OrderCancelled]]:
        """Give what calls off an order, or a proposal's part of it, whenever it was."""
        told = self._acts.cancellations.get(number, [])
        meant = (said for said in told if said.event.proposal in {None, proposal})
        return [said for said in meant if reaches(said, site, self._world)]

    def _cancelled(self, number: str, proposal: str, site: str | None) -> Deed | None:
        """Give what first called off an order since it was last placed: a later placement is of an order again."""
        placed = max(said.at for said in self._acts.placements[proposal] if said.event.order == number)
        told = self._calling_off(number, proposal, site)
        return next((deed_of(said) for said in told if said.at >= placed), None)

    def _begun(self, told: Sequence[Said[OrderPlaced]]) -> Order:
        """Give a proposal's part of an order before anything of it has come: placed first, as last said."""
        said = told[-1].event
        site = self._site(said)
        ended = [one.at for one in self._calling_off(said.order, said.proposal, site) if one.at < told[-1].at]
        first = next(one for one in told if not ended or one.at > ended[-1])
        return Order(
            order=said.order,
            proposal=said.proposal,
            site=site,
            supplier=said.supplier,
            expected_on=said.expected_on,
            placed=deed_of(first),
            placed_on=self._day(first, site),
            lines=tuple(self._lines(said, site)),
        )

    def _lines(self, said: OrderPlaced, site: str | None) -> list[Line]:
        """Give the lines of an order; one without any is for its proposal's item, as much as was approved."""
        if said.lines:
            return [
                Line(
                    line=one.line,
                    site=site,
                    item=one.item,
                    unit=one.unit,
                    ordered=one.quantity,
                    price=None if one.price is None else str(one.price),
                    currency=one.currency,
                    alien=not is_alike(one.unit, self._unit(one.item)),
                )
                for one in said.lines
            ]
        need = self._needs.get(said.proposal)
        if need is None:
            return []
        approved = standing_of(self._acts, said.proposal, need, self._world)
        ordered = approved[-1].event.quantity if approved else None
        return [Line(line=None, site=site, item=need.item, unit=None, ordered=ordered)]

    def _arrival(self, said: Said[StockReceived]) -> Arrival:
        event = said.event
        on = self._day(said, event.site)
        return Arrival(event.site, event.item, event.quantity, event.unit, on, event.id, said.row.seq)

    def _day(self, said: Said[OrderPlaced] | Said[StockReceived], site: str | None) -> date:
        return said.event.occurred_on or self._world.day(said.at, site or "")


def standing_of(acts: Acts, proposal: str, need: Need | None, world: World) -> list[Said[ReorderApproved]]:
    """Give the approvals of a proposal that count."""
    return [said for said in acts.approvals.get(proposal, ()) if counts(said, need, world)]

"""What is fetched: water by tanker when the cistern is low, spare parts from shelf or shop."""

from sim.twin.people.duty import Duty, Story
from sim.twin.world import World


class Stores:
    """The shelf of spare parts, and the tanker."""

    def __init__(self, world: World):
        """Fill the shelf."""
        self.world, self.env, spares = world, world.env, world.scenario.spares
        self.shelf = {spare.part: spare.on_shelf for spare in spares}
        self.lead_s = {spare.part: spare.lead_s for spare in spares}
        self.tanker_due = False

    def order_water(self) -> None:
        """Order a tanker when the cistern is low and none is on its way."""
        store = self.world.scenario.cistern
        if not self.tanker_due and float(self.world.s["cistern_m3"]) < store.top_up_below * store.capacity_m3:
            self.tanker_due = True
            self.env.process(self.tanker())

    def tanker(self) -> Story:
        """Bring a load of clean water after its lead time."""
        world, store, prices = self.world, self.world.scenario.cistern, self.world.scenario.prices
        yield self.env.timeout(store.top_up_lead_s)
        world.bring()
        load = min(store.top_up_m3, store.capacity_m3 - float(world.s["cistern_m3"]))
        world.s["cistern_m3"] += load
        world.tanked_m3 += load
        cost = prices.of_tanker(load)
        world.costs.water += cost
        world.costs.tanker_loads += 1
        world.note("tanker", "cistern", value=load, unit="m3", cost=cost)
        world.refresh()
        self.tanker_due = False

    def part_for(self, duty: Duty) -> Story:
        """Take the part from the shelf and order another, or wait for it."""
        part = duty.part
        if part is None:
            return
        lead_s = self.lead_s.get(part, 0.0)
        if self.shelf.get(part, 0) > 0:
            self.shelf[part] -= 1
            self.env.process(self.restock(part, lead_s))
        elif lead_s > 0.0:
            self.world.note("order", part, note="not on the shelf")
            yield self.env.timeout(lead_s)

    def restock(self, part: str, lead_s: float) -> Story:
        """Put a part back on the shelf after its lead time."""
        yield self.env.timeout(lead_s)
        self.shelf[part] += 1

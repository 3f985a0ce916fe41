"""Who, when: the welds of an order in a shift, set-ups at the same time, and the doses that add up.

The one verb of the room is `shift.schedule.schedule(order, jobs) -> ShiftPlan`.
"""

"""Water to the pit: from rain at the wall, and from the ground.

`soils` (properties by texture),
`wall` (storm water through the backfill to the drain), `seepage` (ground water, by level);
by the day `evaporation`, `snow` and `wetness`; `texture` (soil water from sand and clay).
"""

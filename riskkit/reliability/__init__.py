"""How often parts fail, what a visit finds, and how likely that brings water onto the floor.

`wear` (parts that age), `hidden` (faults that wait for a test), `delay_time` (defects that a visit
can find before they become failures), `outages`, `outage_weather` and `households` (mains power),
`battery_laws`, `battery` and `standby` (what runs without it), `fault_tree` and `causes` (what has
to come together), `annual` (chance per year from chances given a storm), `loss` (what water on the
floor costs).

Pure functions that know neither homes nor pits. Times are years, as ages, visits and return periods
are told, but for outages and batteries, whose field counts in hours and ampere-hours. Rates are per
year. All take arrays over draws, `(n_draws,)`, or single numbers, and broadcast as numpy does.
"""

"""A campaign of simulated commissionings: the tool's own procedures, answered by a plant and a person of its own.

    circuit, unit, plant       the sensor, its cable, the board's input and the wire: raw readings in simulated time
    person, hands              who follows the prompts, with slips and with tricks
    adapter, readings, record  what the tool asks and is answered; they alone know it
    came                       what it found
    kinds, figures, bounds     what is commissioned how often, what must come of it, and what the counts prove
    campaign, printing         all of it over the cores, and the tables

The plant shares no code with the rooms that judge (`commission/wiring`, `commission/judge`) nor with `fake_printer`: an
error made twice independently is rarer than one shared.
"""

"""Texts of session files for tests: with every key, with as little as there can be, and with remarks all over."""

from __future__ import annotations

__all__ = ["FULL", "NOTED", "SMALL"]

SMALL = """\
[session]
title = "One header"
standard = "SAE J1349"
received = "observed"

[[build]]
name = "A"
baseline = true

[[build]]
name = "B"

[[pull]]
build = "A"
file = "pulls/a1.csv"

[[pull]]
build = "B"
file = "pulls/b1.csv"
"""

FULL = """\
[session]
title = "Runner length and header on a 2.2 litre four"
question = "Do short runners pay at the top?"
notes = '''
Oil changed before the session.
Second line.'''
date = 2026-05-04
dyno = "engine"
standard = "SAE J1349"
received = "observed"
inertia = "0.21 kg m^2"
rpm = "2000..6500 rpm"
windows = ["2500..3500 rpm", "5000..6500 rpm"]

[engine]
name = "2.2 litre four"
displacement = "2.2 L"
induction = "natural"
ignition = "spark"
strokes = 4
mechanical_efficiency = "85 %"
boost_controlled = false
friction = [{ speed = "3000 rpm", power = "6.1 kW" }, { speed = "6000 rpm", power = "19.4 kW" }]

[limits]
oil_temperature = "80..105 degC"
mixture = "0.84..0.90 lambda"
spark = "20..34 deg"
sweep_rate = "200..400 rpm/s"
air_temperature = "10..35 degC"

[columns]
torque = { column = "Torque", unit = "lb ft" }
speed = "Engine [rpm]"
mixture = "Lambda 1"

[plan]
pull = "5 min"
warm_up = "10 min"
cool_down = "15 min"
together = "20 min"
day = "7 h"
mean_torque = "180 N m"
peak_power = "118 kW"
resolve = "1.5 %"
scatter = { pull = "0.35 %", shape = "0.3 %", refit = "0.2 %", walk = "0.2 %", drift = "0.5 %" }

[[factor]]
name = "runners"
levels = ["340 mm", "260 mm"]
change = "50 min"

[[factor]]
name = "header"
levels = ["4-1", "4-2-1"]

[[build]]
name = "A"
label = "long runners"
baseline = true
levels = { runners = "340 mm", header = "4-1" }

[[build]]
name = "B"
levels = { runners = "260 mm", header = "4-1" }

[[build]]
name = "C"
levels = { runners = "340 mm", header = "4-2-1" }

[[build]]
name = "D"
levels = { runners = "260 mm", header = "4-2-1" }

[[pull]]
build = "A"
file = "pulls/a1.csv"
time = 2026-05-04T09:12:00
air = { temperature = "24.1 degC", pressure = "99.2 kPa", humidity = "46 %" }

[[pull]]
build = "B"
file = "pulls/b.csv"
which = 1
time = 2026-05-04T09:20:00
received = "SAE J607"

[[pull]]
build = "B"
file = "pulls/b.csv"
which = 2
time = 2026-05-04T09:26:00
left_out = "fuel ran out"
[pull.air]
temperature = "75.4 degF"
pressure = "29.29 inHg"
humidity = "46 %"
[pull.columns]
torque = "Torque corr. [N m]"

[[pull]]
build = "C"
file = "pulls/c1.csv"
time = 2026-05-04T10:20:00
refitted = true

[[pull]]
build = "D"
file = "pulls/d1.csv"
time = 2026-05-04T11:05:00

[[claim]]
id = "short-runners-top"
says = "Short runners are worth at least 8 kW at the top"
of = "B"
from = "A"
quantity = "power"
where = "peak"
at_least = "8 kW"

[[claim]]
id = "header-no-loss"
says = "The 4-2-1 header costs at most 3 % anywhere below 3000 rpm"
of = "C"
from = "A"
quantity = "torque"
where = "2000..3000 rpm"
at_most = "3 %"

[[claim]]
id = "header-same-with-both"
says = "The header does the same with both runners at 4200 rpm"
of = "D"
from = "B"
same_as = { of = "C", from = "A" }
quantity = "torque"
where = "4200 rpm"
within = "2 lb ft"
"""

NOTED = """\
# Session of the hill-climb engine.

[session]                       # the head of the page
title    = "One header"
standard = "SAE J1349"          # what the findings are corrected to
received = 'observed'
windows  = [
    "2500..3500 rpm",  # where it is driven
    "5000..6500 rpm",
]

[engine]
# displacement = "2.2 L"

# The parts.

[[factor]]
name = "header"
levels = ["4-1", "4-2-1"]

[[build]]
name = "A"  # as delivered
baseline = true
levels = { header = "4-1" }

# the new one
[[build]]
name = "B"
levels.header = "4-2-1"

# In run order.

[[pull]]
build = "A"
file = "pulls/a1.csv"
air = {temperature="24.1 degC",  pressure = '99.2 kPa'}

# after lunch
[[pull]]
build = "B"
file = "pulls/b1.csv"
[pull.air]
pressure = "99.1 kPa"  # read late

[[pull]]
build = "A"
file = "pulls/a2.csv"

# What people say.

[[claim]]
id = "gain"
says = "The header is worth 3 kW"
of = "B"
from = "A"
quantity = "power"
where = "peak"
at_least = "3 kW"
"""

"""An invented job so small that it can be grouted within seconds, as the plan file that a person would write."""

PLAN = """\
[job]
name = "Short Hole"
client = "Nobody (invented)"
place = "Nowhere"
time_zone = "UTC"
units = "metric"
invented = true

[crew]
driller = "Driller A"
helper = "Helper B"

[hole]
water_level = "{water_level}"
drinks_water = false

[[hole.section]]
from = "0 m"
to = "10 m"
diameter = "200 mm"

[casing]
material = "steel"
outer_diameter = "114.3 mm"
wall = "6.02 mm"
connection = "welded"
shoe = "closed"
target_shoe_depth = "9.8 m"
stick_up = "0.50 m"
stick_up_tolerance = "0.10 m"
joint_range = ["5 m", "6 m"]
rack = ["5.20 m", "5.10 m"]

[limits]
hoist = "8 t"
reading_band = "0.2 t"

[line]
volume = "5 L"
starts = "water"

[tremie]
outer_diameter = "33.4 mm"
bore = "26.6 mm"
section = "3 m"
sections = 4

[[mix]]
name = "neat"
kind = "neat cement"
bag = "40 kg"
water_per_bag = "18.4 L"
density_band = "0.04 kg/L"
working_time = "90 min"
waiting_time = "24 h"

[[stage]]
name = "all"
from = "10 m"
to = "0 m"
mix = "neat"
method = "tremie"
allowance = "0 %"
spread = "0 %"

[aboard]
bags = 40
water = "1000 L"

[meter]
port = "{port}"
dialect = "plain"
tolerance = "0 %"
"""


def plan_text(port: str, water_level: str = "2 m") -> str:
    return PLAN.format(port=port, water_level=water_level)

"""A complete plan of an invented job, to copy and change."""

_EXAMPLE = """\
# A plan for casing and grouting a water well. Everything below is invented: change it all.
#
# Every value is a text with its unit: "219.1 mm", "8 5/8 in", "12' 6 1/2\\"", "15.6 lb/gal", "40 US gal".
# Counts, factors and true/false stand bare. Depths run along the hole from ground level, down positive.
# A line that begins with "# " may be left out; what it shows is then worked out or taken as shown.

[job]
name = "Upper Meadow, well 2"
client = "Fenwick Hollow Dairy (invented)"
place = "Upper Meadow, Fenwick Hollow"
permit = "EX-0042"
time_zone = "Europe/Oslo"        # by its IANA name
units = "metric"                 # what screens and report show: "metric" or "US"
# gallons = "US"                 # or "imperial": what a bare "gal" means in this file
invented = true                  # a demonstration: every screen and report says so; leave it out for a real job
# rules = ["neutral"]            # rule files whose notes go into the report; `tally rules` lists those that come along

[crew]
driller = "A. Brook"
licence = "D-17"
helper = "S. Vale"
rig = "Truck rig 1"

[hole]
water_level = "18 m"
rock = "5.2 m"                   # depth to rock
# drinks_water = true            # true where the ground takes displaced water; leave it out where nobody knows
# caliper = "log.las"            # the hole as measured, a .las or .csv file beside this one
# caliper_units = { depth = "ft", diameter = "in" }      # where the file does not say them
# caliper_gap = "1 m"            # readings further apart leave a gap, for which the bit size stands
# caliper_zero_height = "0.5 m"  # of the log's zero above ground level

[[hole.section]]
from = "0 m"
to = "6 m"
diameter = "16 in"

[[hole.section]]
from = "6 m"
to = "48 m"
diameter = "12 1/4 in"
# cased = true                   # true where this "hole" is the bore of a casing that already stands

# [[hole.zone]]                  # what drilling met that may take grout: any number of these
# from = "21 m"
# to = "22.5 m"
# kind = "fracture"              # "fracture", "void", "washout" or "loss"
# note = "flush lost for a metre"
# spread = "50 %"                # half the width of its own range, beside the stage's; by its kind if left out

[casing]
material = "steel"               # "steel" or "pvc"
standard = "ASTM A53 B"
outer_diameter = "219.1 mm"
wall = "8.18 mm"                 # or bore; for pvc the minimum wall
# size = "NPS 8 Sch 40"          # in place of these two: a pipe out of the tables that ship with the program
# yield_strength = "35000 psi"   # of the steel; else that of the softest in common use
# mass = "42.5 kg/m"             # as run, couplings included; else the plain-end mass
# coupling_mass = "8.4 kg"       # in place of mass: of one coupling, shared over a joint
connection = "welded"            # "welded", "threaded" or "solvent"
# lengths_are = "overall"        # threaded or solvent: "overall", or "effective" with the make-up already taken off
# make_up_loss = "80 mm"         # taken off at each connection of overall lengths
weld_gap = "2 mm"
shoe = "float"                   # "open", "float" or "closed"
shoe_length = "0.35 m"
shoe_mass = "28 kg"              # over plain pipe of its length
target_shoe_depth = "47.5 m"
stick_up = "0.60 m"
stick_up_tolerance = "0.10 m"
joint_range = ["5.5 m", "6.5 m"] # shortest and longest; the rack lies within
rack = ["4 x 6.10 m", "6.08 m", "6.12 m", "3 x 6.05 m"]
# delivered = 9                  # joints by the delivery note; the rack must account for all of them
# measured_from = "0.80 m"       # height of the table that depths are taped from on the day, not here
centralizers = ["3 m", "15 m", "30 m", "45 m"]
# keep_welds_from_ground = "0.5 m" # joints are then chosen so that no connection comes nearer than this
# keep_welds_from_rock = "0.6 m"
# keep_welds_from_centralizers = "0.2 m"

[limits]
hoist = "8 t"
elevator = "10 t"                # the weaker of elevator and slings
# connection = "30 t"
hook = "60 kg"                   # hook, block and elevator, where the reading includes them
dynamic_factor = 1.25
reading_band = "0.2 t"           # a reading off by more than this, or by the share, is questioned
# reading_band_share = "10 %"
# collapse = "100 bar"           # the maker's rating; else worked out by a named formula
collapse_factor = 1.5
# burst = "150 bar"              # the maker's rating for pressure from inside

[line]                           # from the pump to the tremie's end, or to the shoe
length = "70 m"                  # with bore; or volume = "60 L", bore of a bare casing and all
bore = "32 mm"
starts = "water"                 # what stands in it when pumping starts: "water" or "empty"

[pump]
rate = "40 L/min"
pressure_limit = "20 bar"
# greatest_rate = "80 L/min"     # the most it can deliver; else twice its rate. A count that grows faster is no count
# stroke_volume = "1.2 L"        # where strokes are counted by eye: `v` takes "120 strokes". What one stroke sweeps,
# efficiency = "90 %"            # and what it truly delivers of that (`tally meter calibrate --run "20 L=17 strokes"`)

[tremie]
outer_diameter = "42 mm"
bore = "32 mm"
section = "3 m"
sections = 16
minimum_cover = "1.5 m"

[[mix]]
name = "neat"
kind = "neat cement"             # "neat cement", "cement-bentonite", "cement-sand", "bentonite" or "recipe"
bag = "40 kg"
water_per_bag = "18.4 L"         # or density = "1.88 kg/L"
# bentonite = "4 %"              # cement-bentonite, with bentonite_of = "cement" (dry blended) or "water" (prehydrated)
# sand_per_bag = "40 kg"         # cement-sand
# solids = "20 %"                # bentonite, in place of water or density: its share of the whole by weight
# ingredient = [                 # recipe, in place of bag: what goes with one bag of the first
#   { name = "cement", mass = "40 kg", sg = 3.15 },
#   { name = "silica flour", mass = "14 kg", sg = 2.65 },
# ]
# mixer = "120 L"                # what the mixer takes; the plan then comes in whole batches
# plastic_viscosity = "40 cP"    # with yield_point = "15 Pa", by the maker's sheet or a viscometer: never guessed
cement_sg = 3.15
density_band = "0.04 kg/L"       # a batch off by more than this is questioned
working_time = "90 min"
waiting_time = "24 h"

[[stage]]                        # in the order of placing, upward
name = "first lift"
from = "48 m"
to = "36 m"
mix = "neat"
method = "tremie"                # "tremie" or "through casing"
# plug = "3 m"                   # grout down the bare casing: how high it is to stand inside in the end; the rest is
                                 # pushed out with water. Left out where a pipe inside stabs into the shoe
allowance = "15 %"               # of annulus, for a hole that is not its bit size
spread = "15 %"                  # half the width of the range that holds 8 holes in 10

[[stage]]
name = "to surface"
from = "36 m"
to = "0 m"
mix = "neat"
method = "tremie"
allowance = "15 %"
spread = "15 %"

[aboard]
bags = 110
water = "2500 L"
wash_up = "200 L"                # of it, after each stage
# material = [{ name = "bentonite", mass = "100 kg" }]   # what goes in beside the counted bags

[meter]                          # what counts the grout; leave it out and volumes are typed
port = "/dev/ttyUSB0"            # or "COM3", or "socket://192.0.2.5:4001"
baud = 9600
# bits = "8N1"                   # data bits, parity, stop bits
dialect = "plain"                # or pattern = '(?P<total>[0-9.]+) L' with units = {total = "L"}
tolerance = "2 %"
# rolls_over_at = "10000 L"      # where its total starts again from zero
# step = "10 L"                  # the most that its total grows at once, where it counts in coarse steps
# source = "pulses"              # in place of dialect: a counter that prints "P 0001234"
# k = "812 pulses/L"             # or "0.5 L/pulse"; gallons are US or imperial: "3078 pulses/US gal"
# rolls_over_at_count = 65536
# source = "strokes"             # the same for a counter of the pump's strokes
# stroke_volume = "1.2 L"
# efficiency = "92 %"
# source = "current"             # a converter that prints "I 12.00 mA"; below 3.6 or above 21 it has failed
# at_4_mA = "0 L/min"
# at_20_mA = "100 L/min"
# source = "modbus"              # RTU on a serial port or socket://host:port; Modbus over TCP on "tcp://host:port"
# every = "1 s"
# register = [                   # address 0 is what a manual calls 40001; hold the order against a known reading
#   { reads = "total", address = 0, unit = 1, bank = "holding", type = "float32", order = "ABCD", units = "L" },
# ]

# [[instrument]]                 # any number of others; none is needed. One on a port that is named above already reads
#                                # its own value of the same lines, whose pattern names it, or its registers on the bus
# name = "returns meter"
# channel = "returns out"        # "grout in", "returns out", "hook load", "pressure" or "density"
# port = "/dev/ttyUSB1"          # and source and the rest as in [meter]
# dialect = "plain"
# counts = true                  # "grout in" without [meter]: this one counts. Otherwise it checks the one that does

# [tank]                         # that grout is drawn from: its dips (x) check the meter, or count where there is none
# shape = "standing cylinder"    # with diameter and height; "lying cylinder": diameter, length; "box": length, width,
# diameter = "1.10 m"            # height; "table": row = [{ depth = "0 cm", volume = "0 L" }, ...] from the bottom up
# height = "1.25 m"              # from the bottom to where dips are read from
# dipped = "from the top"        # or "from the bottom"

[alarms]
no_data = "5 s"
pump_stop = "25 %"               # of the working time
no_rise_volume = "1 yd3"         # pumped since a tag showed no rise
no_rise = "10 ft"
returns_stop = "60 s"
sources_apart = "5 %"            # two sources of volume further apart than this and than sources_apart_volume
sources_apart_volume = "20 L"
deficit = "20 %"                 # less coming out than going in, by a meter: of what went in, and in volume
deficit_volume = "100 L"
# gone = "0.5 s"                 # a port that has been gone for so long while a stage is under way
frozen = "30 s"                  # a count that stands still for so long while the pump runs
"""


def example() -> str:
    """A commented plan that reads without a mistake."""
    return _EXAMPLE

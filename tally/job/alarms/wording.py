"""What each alarm says, how loud it is, and what usually helps."""

from __future__ import annotations

from dataclasses import dataclass

from tally.job.events import Severity


@dataclass(frozen=True, slots=True)
class Wording:
    """What an alarm says. `sentence` takes {value} and {limit}, written in the reader's units."""

    severity: Severity
    title: str
    sentence: str
    helps: tuple[str, ...]


WORDINGS: dict[str, Wording] = {
    "returns-overdue": Wording(
        "stop-and-look",
        "Returns overdue",
        "{value} pumped, returns were due by {limit}",
        (
            "stopped the pump and tagged the top",
            "left to set, then a new stage from the tagged top",
            "slowed the pump and went on",
            "bridged the loss, then went on",
        ),
    ),
    "no-rise": Wording(
        "stop-and-look",
        "Grout does not rise",
        "{value} pumped between two tags and the top has not risen, limit {limit}",
        (
            "stopped the pump, left to set, then a new stage from the tagged top",
            "bridged the loss, then went on",
            "slowed the pump and tagged again",
        ),
    ),
    "returns-stopped": Wording(
        "stop-and-look",
        "Returns stopped",
        "no returns for {value} of pumping (limit {limit})",
        ("slowed the pump", "stopped the pump and tagged the top", "left to set, then a new stage"),
    ),
    "over-planned-volume": Wording(
        "caution",
        "Over the planned volume",
        "{value} pumped, {limit} planned with allowance, no good grout at the stage's top yet",
        ("tagged the top", "checked the meter against batches", "mixed more and went on", "left to set"),
    ),
    "past-high-volume": Wording(
        "stop-and-look",
        "Past the high volume",
        "{value} pumped, {limit} is the high estimate, and no good grout at the stage's top",
        (
            "stopped the pump and tagged the top",
            "held the meter against the batches",
            "left to set, then a new stage from the tagged top",
            "bridged the loss, then went on",
        ),
    ),
    "pumped-over-mixed": Wording(
        "caution",
        "More pumped than mixed",
        "{value} pumped on this job, {limit} at most by the batches: one is not entered, or the count is off",
        ("entered the missing batch", "held the meter against the tank", "water was pumped through the meter"),
    ),
    "no-meter-data": Wording(
        "caution",
        "No meter data",
        "nothing from the grout meter for {value} (limit {limit}); typed volumes count meanwhile",
        ("checked cable and power", "typed the volume from batches", "stopped the pump until it was back"),
    ),
    "meter-gap": Wording(
        "caution",
        "Meter moved unseen",
        "{value} went through while nobody listened: say how much of it counts (limit {limit})",
        ("counted it", "counted part of it", "left it out"),
    ),
    "meter-rebased": Wording(
        "note",
        "Meter reset or leapt",
        "the totaliser changed by {value} in one step (limit {limit}); it is counted from its new reading on",
        ("checked against batches", "meter was reset on purpose"),
    ),
    "clock-jumped": Wording(
        "note",
        "Clock jumped",
        "the wall clock stepped by {value} against the running clock (limit {limit}): it was set, or the machine slept;"
        " durations keep to the running clock",
        ("checked the machine's date and time", "set it right on purpose"),
    ),
    "disk-slow": Wording(
        "note",
        "Disk is slow",
        "an entry took {value} to be saved (limit {limit})",
        ("closed other programs", "took the stick or the network folder out of use"),
    ),
    "record-interrupted": Wording(
        "caution",
        "Record was interrupted",
        "nothing could be saved for {value} (limit {limit}); what the meter sent meanwhile is saved now",
        ("freed space on the disk", "entered again what was not saved", "copied the session elsewhere"),
    ),
    "session-moved": Wording(
        "caution",
        "Session file moved or deleted",
        "its file was moved or deleted while it was recorded, {value} so far (limit {limit}); no entry is lost",
        ("moved it back", "left it: it is recorded where it is now"),
    ),
    "record-mended": Wording(
        "stop-and-look",
        "Entries are missing",
        "{value} entries could not be read when the session was mended (limit {limit}): enter again what they told",
        ("entered again what was missing", "heartbeats alone were missing"),
    ),
    "pump-stopped": Wording(
        "caution",
        "Pump stopped too long",
        "pump still for {value}, limit {limit}",
        ("started the pump again", "flushed the line", "pulled the tremie clear of the grout", "ended the stage"),
    ),
    "working-time": Wording(
        "stop-and-look",
        "Working time passed",
        "oldest batch of this stage is {value} old, working time {limit}",
        ("finished pumping", "flushed the line", "dumped what was left"),
    ),
    "load-high": Wording(
        "stop-and-look",
        "Hook load above expected",
        "{value} read, at most {limit} expected",
        ("water lower than assumed: measured it", "drag: worked the casing", "closed casing was filled"),
    ),
    "load-low": Wording(
        "stop-and-look",
        "Hook load below expected",
        "{value} read, at least {limit} expected: hung up or floating",
        ("picked up and worked it down", "filled the casing", "cleaned the hole"),
    ),
    "hoist-limit": Wording(
        "stop-and-look",
        "Next joint passes the limit",
        "{value} expected with the next joint, limit {limit}",
        ("filled or emptied as planned", "changed the reeving", "stopped running casing"),
    ),
    "casing-floats": Wording(
        "stop-and-look",
        "Casing would lift",
        "{value} expected on the hook, lifts below {limit}",
        ("held down", "filled the casing", "pumped a shorter first lift"),
    ),
    "casing-not-filled": Wording(
        "stop-and-look",
        "Casing not filled: it may collapse",
        "{value} more outside than inside at the shoe, at most {limit} with the factor kept",
        ("filled the casing and measured its level", "stopped running casing"),
    ),
    "casing-lifts": Wording(
        "stop-and-look",
        "Casing lifts unless it is held",
        "{value} of hold-down needed at the highest likely top, the list covers {limit}",
        ("clamped or weighted it down", "filled the casing and measured its level", "left a short lift to set"),
    ),
    "collapse-margin": Wording(
        "stop-and-look",
        "Collapse margin is short",
        "{value} more outside than inside, at most {limit} with the factor kept",
        ("filled the casing and measured its level", "stopped, left a short lift to set"),
    ),
    "rack-mismatch": Wording(
        "note",
        "Rack does not reconcile",
        "joints in whose length is not on the rack's list: {value} (limit {limit})",
        ("measured again, the entry corrected", "voided a joint entered twice", "corrected the list"),
    ),
    "rack-count": Wording(
        "note",
        "Joints delivered do not add up",
        "off by {value}: delivered against hole, rack's list and rejected (limit {limit})",
        ("counted the rack", "measured what was left out", "corrected the list"),
    ),
    "shoe-below-hole": Wording(
        "stop-and-look",
        "Shoe below the hole's bottom",
        "shoe worked out at {value}, hole ends at {limit}",
        ("measured again", "voided a joint entered twice", "cut the last joint"),
    ),
    "batch-density": Wording(
        "caution",
        "Batch density off",
        "{value} weighed, {limit} is the edge of the mix's band",
        ("weighed again", "adjusted the next batch", "dumped the batch"),
    ),
    "thin-returns": Wording(
        "caution",
        "Grout at surface too thin",
        "{value} at surface, at least {limit} asked for",
        ("pumped on until it was full strength",),
    ),
    "stock-short": Wording(
        "caution",
        "Bags aboard fall short",
        "{value} bags aboard, {limit} still needed",
        ("sent for more", "shortened the stage and left it to set"),
    ),
    "stock-thin": Wording(
        "note",
        "Bags aboard may fall short",
        "{value} bags aboard, {limit} still needed at the high estimate",
        ("sent for more", "ready to leave it to set short of its top"),
    ),
    "water-short": Wording(
        "caution",
        "Water aboard falls short",
        "{value} of water aboard, {limit} still needed with washing up",
        ("sent for more", "shortened the stage and left it to set"),
    ),
    "zone-near": Wording(
        "note",
        "Known zone ahead",
        "likely top at {value}, a zone that may take grout begins at {limit}",
        (
            "slowed the pump",
            "tagged before and after it",
            "readied bridging material",
            "stopped below it and left to set",
        ),
    ),
    "finish-late": Wording(
        "note",
        "Working time may not be enough",
        "{value} more for the high volume at the pace so far, {limit} left of the oldest batch's working time",
        ("pumped faster", "readied to stop at a lower top and leave it to set", "pulled the tremie in time"),
    ),
    "tremie-off-bottom": Wording(
        "caution",
        "Tremie too far off bottom",
        "its end hangs {value} above the stage's bottom, limit {limit}",
        ("lowered it before pumping", "tagged the bottom: it stands higher"),
    ),
    "tremie-cover": Wording(
        "caution",
        "Tremie has too little cover",
        "{value} of grout over its end at the lowest top (worst case), at least {limit} asked for",
        ("pumped on before pulling more", "tagged the top", "lowered it while it was still covered"),
    ),
    "tremie-above": Wording(
        "stop-and-look",
        "Tremie above the grout",
        "its end hangs at {value}, the lowest top (worst case) stands at {limit}",
        (
            "stopped and tagged the top",
            "kept its end above the grout until air and water were out of it",
            "left to set",
        ),
    ),
    "grout-under-shoe": Wording(
        "caution",
        "Grout comes up inside the casing",
        "{value} of grout would come up inside the open end (limit {limit})",
        (
            "capped the casing and filled it",
            "plugged or seated the end",
            "left a short first lift to set",
            "measured the level inside",
        ),
    ),
    "sources-disagree": Wording(
        "caution",
        "Sources of volume disagree",
        "{value} by what counts, {other} by the one that checks it: further apart than {limit}",
        (
            "checked both against batches",
            "found air or a partly full pipe",
            "K or units were wrong: amended the plan",
            "stopped the pump and dipped the tank",
        ),
    ),
    "returns-deficit": Wording(
        "caution",
        "Less coming out than going in",
        "{value} less came out than went in since returns began, limit {limit}",
        ("slowed the pump", "stopped the pump and tagged the top", "bridged the loss, then went on"),
    ),
    "meter-frozen": Wording(
        "caution",
        "Meter stands still while the pump runs",
        "no count for {value} while the pump runs (limit {limit}); type what goes through meanwhile",
        ("freed or cleaned the meter", "checked its wiring", "typed the volume from batches", "the pump stood"),
    ),
    "meter-gone": Wording(
        "caution",
        "Meter unplugged",
        "its port has been gone for {value} (limit {limit}); typed volumes count meanwhile",
        ("plugged it in again", "closed the other program on the port", "typed the volume from batches"),
    ),
    "meter-backward": Wording(
        "caution",
        "Meter counts backward",
        "the count has gone back by {value} (limit {limit}); nothing of that counts until you say so",
        ("changed over the wires", "turned the meter", "grout ran back: closed the valve"),
    ),
    "meter-garbage": Wording(
        "caution",
        "Meter sends mostly garbage",
        "{value} of its lines cannot be read (limit {limit})",
        ("set the baud rate", "closed the other program on the port", "checked shield and plug"),
    ),
    "meter-flood": Wording(
        "note",
        "Meter sends more than can be kept",
        "{value} readings left out in the last seconds (limit {limit}); no volume is lost by that",
        ("set the meter to send less often",),
    ),
    "meter-blind": Wording(
        "caution",
        "Nothing counted while the meter was away",
        "away for {value} (limit {limit}), and it keeps no count of its own: type what went through",
        ("typed the volume from batches", "the pump stood meanwhile"),
    ),
    "check-silent": Wording(
        "note",
        "An instrument is not heard",
        "nothing for {value} from an instrument beside the meter (limit {limit})",
        ("checked cable and power", "went on without it"),
    ),
    "pressure-high": Wording(
        "stop-and-look",
        "Pressure over its limit",
        "{value} by the gauge, limit {limit}",
        ("stopped the pump", "slowed the pump", "bled the line, then cleared it"),
    ),
    "rate-high": Wording(
        "note",
        "Rate over what the pump can deliver",
        "{value} by the meter, {limit} is the most by the plan",
        ("checked K and units", "checked against batches"),
    ),
}

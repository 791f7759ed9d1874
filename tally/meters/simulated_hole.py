"""What becomes of the grout that a simulated pump delivers: it fills the hole, goes into the ground, or comes back."""

from dataclasses import dataclass


@dataclass
class Hole:
    """Space that must fill before returns come; the rest is what is lost on the way and what comes back early."""

    space_m3: float
    loss_share: float = 0.0
    """Of what is pumped, into the ground."""
    early_share: float = 0.0
    """Of what is pumped, back at once through a channel, while the hole is not full."""
    filled_m3: float = 0.0
    lost_m3: float = 0.0
    returned_m3: float = 0.0

    def take(self, pumped_m3: float) -> float:
        """Takes what was pumped; what comes back of it."""
        lost_m3 = pumped_m3 * self.loss_share
        rest_m3 = pumped_m3 - lost_m3
        early_m3 = min(pumped_m3 * self.early_share, rest_m3)
        room_m3 = max(self.space_m3 - self.filled_m3, 0.0)
        kept_m3 = min(rest_m3 - early_m3, room_m3)
        self.filled_m3 += kept_m3
        self.lost_m3 += lost_m3
        back_m3 = rest_m3 - kept_m3
        self.returned_m3 += back_m3
        return back_m3

    def wash_out(self, more_m3: float) -> None:
        """The hole turns out so much larger."""
        self.space_m3 += more_m3

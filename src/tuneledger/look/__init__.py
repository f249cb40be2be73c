"""`tuneledger look`: what was found in a log, and which channel is which signal."""

from tuneledger.look.looking import look
from tuneledger.look.model import FORMAT, Look, RunnerUp, Seen

__all__ = ["FORMAT", "Look", "RunnerUp", "Seen", "look"]

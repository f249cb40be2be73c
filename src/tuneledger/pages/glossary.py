"""The words on the page that a reader may not know, each in a sentence."""

from tuneledger.pages.tag import Markup, tag

WORDS = (
    ("scheduled", "what the main map asks for at that operating point, in degrees before top dead "
     "centre"),
    ("delivered", "what the control unit reports that it used; only a timing light sees the crank"),
    ("correction", "anything in a calibration that moves the advance away from the main map"),
    ("entry", "what one correction added (+) or took (−) at one instant, as in a bank statement"),
    ("unaccounted", "what is left of delivered − scheduled when all entries are taken off"),
    ("slip", "the line under the strips: scheduled, every entry, delivered and unaccounted at the "
     "instant under the cursor"),
    ("episode", "a stretch of the log in which delivered and scheduled stand apart, or something "
     "is unaccounted"),
    ("regime", "what the engine was doing: cranking, after start, idle, overrun, shift, launch, "
     "limiter, cruise or load"),
    ("cause", "what explains one or more episodes, with how sure that is"),
    ("evidence", "where a number is from: logged, a channel carries it; computed, a sheet and the "
     "log's inputs give it; inferred, it was read out of the log"),
    ("visits", "how long the run was in a cell of the map, and how far off delivered was there"),
)  # fmt: skip


def glossary() -> Markup:
    """All of them, folded away until somebody wants them."""
    rows = (tag("div", tag("dt", word), tag("dd", means)) for word, means in WORDS)
    return tag(
        "details",
        tag("summary", "Words: slip, entry, episode, evidence …"),
        tag("dl", *rows, cls="keys words"),
        id="words",
    )

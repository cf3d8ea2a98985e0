"""The words for study tables that cannot be true."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import Say

_LOOK = "look the figure up in the study"
_ONE_WAY = "keep one: `events` with `comparator`, `mean` with `comparator`, or `estimate` with its interval"
_COUNTS = "write the events and the total, `[5, 156]`"
_MEANS = "write the mean, the standard deviation and the number measured, `[1.2, 0.4, 30]`"

TABLES: Mapping[str, Say] = {
    "too-many-studies": Say("an outcome has more than {most} studies", "keep those that answer the question"),
    "study-twice": Say("'{name:short}' is given twice for one outcome", "keep one of the two"),
    "study-there-already": Say(
        "'{name:short}' is in the table already, for this outcome", "its line there is {file:path}, line {line}"
    ),
    "which-table": Say(
        "several study tables have an outcome called '{name:short}'",
        "add `table:` with the one that is meant: {tables:one of}",
    ),
    # --- cells
    "negative-figure": Say("'{written:short}' is less than nothing", _LOOK),
    "per-cent": Say(
        "a figure here is no percentage", "write a risk of 12 % as `0.12`, and events and people as they were counted"
    ),
    "not-whole": Say("'{written:short}' is no whole number, and events and people are counted", _LOOK),
    "too-many-counted": Say("nobody has counted more than {most:thousands}", _LOOK),
    "nobody": Say("nobody is in this arm", "write how many there were, or leave the study out"),
    "events-over-total": Say(
        "{events} of {total} had the event, which is more than there were", "the total stands last: `[events, total]`"
    ),
    "no-deviation": Say("'{written:short}' is no standard deviation, which is more than 0", _LOOK),
    "too-few-for-deviation": Say("a standard deviation needs 2 or more, not {number}", _LOOK),
    "counts-of-other-length": Say("an arm of counts has 2 figures, not {count}", _COUNTS),
    "means-of-other-length": Say("an arm of means has 3 figures, not {count}", _MEANS),
    # --- a study
    "no-figures": Say(
        "the study has no figures", "write `events` and `comparator`, `mean` and `comparator`, or `estimate`"
    ),
    "arm-missing": Say("the arm that this one is compared with is missing", "add `events` or `mean` of the treated"),
    "comparator-missing": Say("the study has `{way}` and no `comparator`", "add the figures of the other arm"),
    "estimate-missing": Say("the study has no `estimate` that this could belong to", "add it"),
    "two-ways": Say("`{one}` and `{other}` are two ways of giving the figures of one study", _ONE_WAY),
    "means-do-not-fit": Say(
        "means cannot give a {measure}", "write `measure: mean-difference`, or the counts of the study"
    ),
    "counts-do-not-fit": Say(
        "counts cannot give a {measure}",
        "write `measure: risk-ratio`, `odds-ratio` or `risk-difference`, whichever is meant",
        "or write the means of the study",
    ),
    "two-spreads": Say("`standard_error` stands beside an interval", "keep one of the two"),
    "no-spread": Say("nothing says how sure the estimate is", "add `low` and `high`, or `standard_error`"),
    "limit-missing": Say("the interval has no `{limit}`", "add it, or give `standard_error` instead of both limits"),
    "ratio-not-positive": Say("'{written:short}' is no ratio, which is more than 0", _LOOK),
    "difference-outside": Say("'{written:short}' is no difference of risks, which lies between -1 and 1", _LOOK),
    "no-error": Say("'{written:short}' is no standard error, which is more than 0", _LOOK),
    "limits-in-wrong-order": Say("the interval ends at {high:short} before it begins at {low:short}", _LOOK),
    "interval-without-width": Say("the interval begins and ends at {low:short}", "give more decimals"),
    "limit-beyond-estimate": Say("the estimate {estimate:short} lies beyond this limit", _LOOK),
    # --- an outcome
    "tau2-with-fixed": Say("`tau2` is for `model: random`", "leave it out, or write `model: random`"),
    "counts-weighted-random": Say(
        "mantel-haenszel is for `model: fixed`", "write `model: fixed`, or `weights: inverse-variance`"
    ),
    "means-weighted-as-counts": Say("mantel-haenszel weights counts, and these are means", "leave it out"),
    "weights-need-counts": Say(
        "mantel-haenszel weights counts, and {study:short} gives none", "write `weights: inverse-variance`"
    ),
    "interval-of-other-weights": Say(
        "hartung-knapp does not go with mantel-haenszel", "write `interval: normal`, or `weights: inverse-variance`"
    ),
    "too-much-added": Say("more than 1 is added to every cell of a study", "write for example `0.5`"),
    "risk-of-means": Say("an outcome that is measured has no risk", "leave `comparator_risk` out"),
    "risk-outside": Say("'{written:short}' is no risk, which lies between 0 and 1", "write 12 % as `0.12`"),
    "tool-of-observational": Say(
        "this tool is for observational studies", "write `design: observational`, or leave the tool out"
    ),
}

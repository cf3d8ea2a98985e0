"""What is said of study tables."""

from __future__ import annotations

from liningbook.checks.kinds.references import UnusedTable
from liningbook.say.catalogue import gettext
from liningbook.say.told import Told


def unused_table(fact: UnusedTable) -> Told:
    """A study table that no rule rests on."""
    return Told(
        gettext("no rule rests on the study table '{name}'").format(name=fact.table),
        help=(
            gettext("name it in the `evidence` of the rules that rest on it: `tables: [{name}]`").format(
                name=fact.table
            ),
            gettext("or take it out of the folder evidence, or begin its name with _ to have it passed over"),
        ),
    )

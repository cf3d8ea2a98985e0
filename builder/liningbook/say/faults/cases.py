"""The words for questions and tables of cases that cannot be used."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import Words

_NEAR = "did you mean `{near}`?"

CASES: Mapping[str, Words] = {
    # --- one case
    "no-way-of-reading": Words("the protocol does not say how {label} is read off; give the value itself"),
    "no-side-of-reading": Words("the protocol does not say on which side a doubtful reading of {label} is taken"),
    "question-value": Words("{factor}: {reason}"),
    "question-not-read-off": Words("{label} is not a quantity, so it is not read off; write {factor}=…"),
    "question-unknown-factor": Words("there is no factor called '{name}'", (_NEAR, "the factors are {known}")),
    "question-twice": Words("the factor {factor} is given both as a value and as a reading"),
    "question-missing": Words("the case needs a value for {missing}; write for example {example}=…"),
    # --- a row of a table
    "row-misquoted": Words(
        "the cells of the row cannot be told apart: a quotation mark is missing, or there is one too many"
    ),
    "row-empty": Words("the row is empty"),
    "row-of-other-length": Words(
        "the row has {cells:cells}, the header has {wanted}",
        ("is there a decimal comma, or a quotation mark missing? (left over: {left:apart})",),
    ),
    "row-useless": Words("{problems}"),
    "cell": Words("{name}: {reason}"),
    "cell-blank": Words("{name}: the cell is blank"),
    "cell-not-utf-8": Words("{name}: '{written:short}' is not written in UTF-8; save the table as “CSV UTF-8”"),
    # --- a table
    "table-first-row-misquoted": Words(
        "the first row cannot be read: a quotation mark is missing, or there is one too many"
    ),
    "table-empty": Words("the table is empty; its first row must name the columns"),
    "table-column-twice": Words("two columns are called '{name:short}'"),
    "table-column-taken": Words("the advice is written into a column called {name}, and the table already has one"),
    "table-without-factors": Words("the first row names no factor; it must name a column for each of {missing}"),
    "table-columns-missing": Words("the table has no column for {missing}", ("{alike:alike}",)),
    "table-reading-of-nothing": Words("'{name:short}': there is no factor called '{factor:short}'"),
    "table-like-count": Words(
        "if '{name:short}' says how many cases a row stands for, call it `{count}`; if not, call it something else"
    ),
    "table-given-twice": Words("{label} is given both in the column {column} and in {other}; leave one out"),
    "table-not-read-off": Words("{label} is not a quantity, so it is not read off; call its column `{column}`"),
    "table-column-useless": Words("{column}: {reason}"),
    "table-for-version": Words("for the {version} version, {reason}"),
}

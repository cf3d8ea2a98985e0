"""The words for questions and tables of cases that cannot be used."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import Say

_NEAR = "did you mean `{near}`?"

CASES: Mapping[str, Say] = {
    # --- one case
    "no-way-of-reading": Say("the protocol does not say how {label} is read off; give the value itself"),
    "no-side-of-reading": Say("the protocol does not say on which side a doubtful reading of {label} is taken"),
    "question-value": Say("{factor}: {reason}"),
    "question-not-read-off": Say("{label} is not a quantity, so it is not read off; write {factor}=…"),
    "question-unknown-factor": Say("there is no factor called '{name}'", _NEAR, "the factors are {known}"),
    "question-twice": Say("the factor {factor} is given both as a value and as a reading"),
    "question-missing": Say("the case needs a value for {missing}; write for example {example}=…"),
    # --- a row of a table
    "row-misquoted": Say(
        "the cells of the row cannot be told apart: a quotation mark is missing, or there is one too many"
    ),
    "row-empty": Say("the row is empty"),
    "row-of-other-length": Say(
        "the row has {cells:cells}, the header has {wanted}",
        "is there a decimal comma, or a quotation mark missing? (left over: {left:apart})",
    ),
    "row-useless": Say("{problems}"),
    "cell": Say("{name}: {reason}"),
    "not-one-value": Say("'{written:short}' is a range, and a case is one value", "write the value that this case has"),
    "word-of-several": Say("'{written:short}' may mean several values: {values}", "write one of these"),
    "point-among-commas": Say(
        "'{written:short}' has a decimal point, where the file of words says that numbers have a decimal comma"
    ),
    "cell-doubtful": Say("{name}: the reading is outside the limits", "check the number and the unit"),
    "row-too-blank": Say("too many cells are blank to look at every case that the row may be"),
    "cell-blank-matters": Say("{name}: the cell is blank, and the advice hangs on it"),
    "cell-blank": Say("{name}: the cell is blank"),
    "cell-not-utf-8": Say("{name}: '{written:short}' is not written in UTF-8; save the table as “CSV UTF-8”"),
    # --- a file of words
    "factor-of-two-columns": Say("the factor {factor} has two columns", "leave one of them out"),
    "not-of-a-choice": Say("{label} is not a quantity, so it has no unit and no decimals", "leave this out"),
    "words-of-a-quantity": Say("{label} is a quantity, so no words stand for its values", "leave this out"),
    "word-twice": Say("'{word}' already stands for `{value}` in this column", "keep one of the two"),
    # --- a table
    "table-first-row-misquoted": Say(
        "the first row cannot be read: a quotation mark is missing, or there is one too many"
    ),
    "table-empty": Say("the table is empty; its first row must name the columns"),
    "table-lacks-column": Say("the file of words names a column '{name:short}', which the table has not", _NEAR),
    "table-too-wide": Say("the first row has {columns} columns; {most} are read at most"),
    "table-column-twice": Say("two columns are called '{name:short}'"),
    "table-column-taken": Say("the advice is written into a column called {name}, and the table already has one"),
    "table-without-factors": Say("the first row names no factor; it must name a column for each of {missing}"),
    "table-columns-missing": Say("the table has no column for {missing}", "{alike:alike}"),
    "table-reading-of-nothing": Say("'{name:short}': there is no factor called '{factor:short}'"),
    "table-like-count": Say(
        "if '{name:short}' says how many cases a row stands for, call it `{count}`; if not, call it something else"
    ),
    "table-given-twice": Say("{label} is given both in the column {column} and in {other}; leave one out"),
    "table-not-read-off": Say("{label} is not a quantity, so it is not read off; call its column `{column}`"),
    "table-column-useless": Say("{column}: {reason}"),
    "table-for-version": Say("for the {version} version, {reason}"),
}

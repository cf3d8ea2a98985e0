"""The words for what is wrong in a reference list."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import Say

_CHECK = "check the brackets, commas and quotes"
_ENTRY = "write `@article{{key, … }}`, or put % before a comment"
_FIELD = "write `name = {{value}},`"
_BRACKETS = "put curly brackets around the whole value"
_CLOSE = "close it with }}"
_TWICE = "keep one of the two"

JSON: Mapping[str, str] = {
    "json-no-value": "a value is missing here",
    "json-no-name": "a field name in double quotes is missing here",
    "json-no-comma": "a comma is missing here",
    "json-no-colon": "a colon is missing here",
    "json-no-quote": "this text has no closing quote",
    "json-break-in-text": "a line break or tab stands inside quotes",
    "json-backslash": "a backslash stands before a character that needs none; write two backslashes for one",
    "json-no-character-code": "`\\u` is not followed by four digits of a character code",
    "json-comma-too-many": "a comma stands before a closing bracket",
    "json-other": "{reason}",
    "json-nothing": "there is nothing in this file",
    "json-too-deep": "values are nested too deep",
    "json-more": "something stands after the end of the list",
    "json-not-closed": "the text ends before all its brackets are closed",
    "json-name-twice": "'{name:short}' is given twice inside this value",
    "json-no-constant": "'{name}' is no value in JSON",
}
"""Why a text is not JSON."""

CITATIONS: Mapping[str, Say] = {
    "too-many-entries": Say("the list has more than {most} entries", "keep only what rules cite"),
    "no-reference-list": Say(
        "a reference list ends in .bib or .json", "name it references.bib (BibTeX) or references.json (CSL-JSON)"
    ),
    "reference-twice": Say("the key '{name:short}' is given to two entries", "give each entry a key of its own"),
    "references-alike": Say(
        "the keys '{other:short}' and '{name:short}' differ only in capital letters",
        "give them keys that no one can mix up",
    ),
    # --- the form of CSL-JSON
    "reference-text": Say("'{name}' is a text", "put it in double quotes"),
    "reference-people": Say(
        "'{name}' is a list of people",
        'for example [{{"family": "Marlow", "given": "A."}}], or [{{"literal": "An organisation"}}]',
    ),
    "reference-date": Say("'{name}' is a date", 'for example {{"date-parts": [[2019, 3, 2]]}}: year, month and day'),
    "reference-unprintable": Say("'{name}' holds a character that cannot be printed", "remove it"),
    "reference-retracted": Say(
        "'retracted' says on which day a work was retracted, and why",
        'for example {{"on": "2024-05-01", "because": "The figures were made up."}}; one of the two may be left out',
    ),
    "no-doi-in-list": Say("there is no DOI in it", "write one DOI a line, for example 10.5555/12345678"),
    "no-column-doi": Say("it has several columns, and none is called `doi`", "call the one with the DOIs `doi`"),
    "list-too-long": Say("it has more than {most:thousands} rows", "keep only the works that were retracted"),
    "no-web-address": Say("'{written:short}' is not a web address", "write the whole address, with https:// in front"),
    # --- JSON
    **{what: Say(f"this is not JSON: {reason}", _CHECK) for what, reason in JSON.items()},
    "json-no-list": Say("a reference list is a list of entries", "put square brackets around the entries"),
    "json-no-entry": Say("an entry is a group of fields in curly brackets", 'for example {{"id": "…"}}'),
    "json-field-twice": Say("'{name:short}' is given twice in one entry", _TWICE),
    "json-id-no-text": Say("the `id` of an entry is a text that rules can cite", 'for example "id": "marlow2019"'),
    "json-no-id": Say("this entry has no `id`, so no rule can cite it", 'add one, for example "id": "marlow2019"'),
    # --- BibTeX
    "bibtex-no-entry": Say("there is no entry in this file", _ENTRY),
    "bibtex-stray": Say("this looks like an entry but is not one", _ENTRY),
    "bibtex-no-key": Say("this entry has no key, so no rule can cite it", "write `@{entry_type}{{key,`"),
    "bibtex-too-many-fields": Say("this entry has more than {most} fields", "check its brackets"),
    "bibtex-no-name": Say("a field here has no name", _FIELD),
    "bibtex-field-twice": Say("'{name:short}' is given twice in the entry '{entry:short}'", _TWICE),
    "bibtex-unreadable": Say("this entry cannot be read", "check its brackets, quotes and commas"),
    "bibtex-not-closed-at-end": Say("this entry is not closed before the file ends", _CLOSE),
    "bibtex-not-closed": Say("this entry is not closed before the next one starts", _CLOSE),
    "bibtex-no-comma-after-key": Say("a comma is missing after the entry's key", "write `@article{{key,`"),
    "bibtex-no-equals": Say("a field name without `=`, or a comma missing before it", _FIELD),
    "bibtex-crossref": Say(
        "fields taken over from another entry are not used here", "write the fields out in this entry"
    ),
    "bibtex-no-value": Say("there is no value here", "write a value in curly brackets, or remove the field"),
    "bibtex-no-comma-after-value": Say("a comma is missing after this value", "put a comma between two fields"),
    "bibtex-no-brackets": Say("this value is not in curly brackets", _BRACKETS),
    "bibtex-unknown-short-name": Say(
        "'{name:short}' is neither in curly brackets nor a short name that this file defines", _BRACKETS
    ),
    "bibtex-short-names-too-long": Say("the short names of this file stand for too much text", "write the values out"),
    "bibtex-value-not-closed": Say("a bracket or quote of this value is not closed", "close it"),
    "bibtex-no-date": Say("'{written:short}' is not a date", "write it as 2019, 2019-03 or 2019-03-02"),
    "bibtex-no-person": Say(
        "'{written:short}' cannot be read as one person's name", "write `Last, First`, and ` and ` between two people"
    ),
    "latex-command": Say(
        "the LaTeX command `{command:short}` is not known here",
        "write the letter or sign itself, for example é, µ or ≤",
    ),
}

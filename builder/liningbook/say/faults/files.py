"""The words for files, YAML, fields and Markdown that cannot be read, or are not used here."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import RANGE_OTHERWISE, Say

_OUT = "this link leads out of the protocol folder"
_WHO = "check who may read it"
_LINE_UP = "give the fields of one group the same indentation, and check the quotes and brackets above"
_QUOTES = "put the whole value in quotes"
_FIELD = ("write `{field}:` with {options:one of}", "write for example `{field}: {example}`")
_NEAR = "did you mean `{near}`?"
_MEANT = (
    *RANGE_OTHERWISE,
    "write `{{exactly: {quantity}}}`, `{{at_least: {quantity}}}` or `{{at_most: {quantity}}}`, whichever is meant",
    "write `{day}`",
    "write `{day_first}` if the day stands first, `{month_first}` if the month does",
    "write `{list}`",
    "write `{field}`",
    "put the whole text in quotes: `{whole}`",
)
_VALUE = "write a value, or leave the field out"

YAML: Mapping[str, Say] = {
    "cannot-be-read": Say("this cannot be read ({reason})"),
    "empty-file": Say("there is nothing in this file", "write the fields that the format asks for"),
    "second-document": Say("a second document starts here", "keep one document a file; remove `---`"),
    "too-many-values": Say("the file holds more than {most} values", "keep only what is needed"),
    "too-deep": Say("values are nested more than {most} deep", "check the brackets"),
    "key-not-plain": Say("a key must be a plain word", "write `key: value`"),
    "merge-key": Say("merge keys (`<<`) are not used here", "write the fields out"),
    "key-twice": Say("'{name:short}' is given twice", "keep one of the two"),
    "no-value": Say("there is no value here", _VALUE),
    "null-value": Say("'{written}' means no value, which is not used here", _VALUE),
    "hidden-by-code": Say("the text holds a hidden character ({character:code})", "delete what stands for it"),
    "anchor": Say(
        "anchors and aliases (`&`, `*`) are not used here",
        "write the value out, or put it in quotes if it starts with & or *",
    ),
    "tag": Say("tags (`!`) are not used here", "remove it, or put the value in quotes"),
    # --- slips of the pen
    "no-blank": Say("a blank is missing after this colon", "write `{instead}`, or put the whole text in quotes"),
    "curly-quotes": Say(
        "curly quotes are no quotes here",
        "write `{instead}`, with the quotes of the keyboard",
        "if the curly ones are to be printed, put those of the keyboard around them",
    ),
    "comma-cut": Say(
        "a comma ends the text here",
        "put the whole text in quotes: `{instead}`",
        "or give `{field}` a value, if it is a field",
    ),
    "quotes-inside": Say("these quotes end before the text does", "write `{instead}`"),
    "sign-in-yaml": Say("a range is not written with the sign `>` here", *RANGE_OTHERWISE),
    # --- what the YAML library refuses
    "list-not-closed": Say("a comma or the closing `]` is missing here", "use commas, and close the list with `]`"),
    "group-not-closed": Say("a comma or the closing `}}` is missing here", "use commas, and close the group with `}}`"),
    "not-lined-up": Say("this line does not line up with those above it", _LINE_UP),
    "not-lined-up-with-list": Say("this line does not line up with the list it stands in", _LINE_UP),
    "colon-in-value": Say("a colon followed by a space stands inside a value", _QUOTES),
    "no-colon-after": Say("a colon and a space are missing after this", "write `name: value`"),
    "no-start-of-value": Say("a value cannot begin with this character", _QUOTES),
    "value-missing": Say("a value is missing here", "write the value, or leave the field out"),
    "hyphens-in-quotes": Say("three hyphens or dots stand in a text in quotes", "close the quotes above"),
    "backslash": Say("a backslash means something else in double quotes", "use single quotes around the text"),
    "block-text-on-line": Say("a text that begins with `|` or `>` starts on the next line", "or put it in quotes"),
    "percent-sign": Say("a line cannot begin with `%`", _QUOTES),
    "question-mark": Say("a question mark cannot stand here", _QUOTES),
    "brackets-too-deep": Say("values are nested too deep", "close the brackets that are open"),
    "tab": Say("a tab stands where only spaces may", "indent with spaces"),
    "quote-not-closed": Say("a quote is opened here and never closed", "close it after the text"),
    "no-colon": Say("this line has no colon", "write `name: value`"),
    "bracket-not-closed": Say("a bracket is opened here and never closed", "close it after the last value in it"),
    "list-out-of-place": Say("a `[` begins a list, and none can stand here", _QUOTES),
    "not-yaml": Say(
        "this cannot be read ({reason})", "check the indentation and the quotes of this line and of the one before"
    ),
}

SHAPE: Mapping[str, Say] = {
    "too-many-faults": Say("this file has more mistakes in its fields than are listed"),
    "as-the-schema-says": Say("{message}", "{advice}"),
    "field-missing": Say("`{field}` is missing", *_FIELD),
    "field-missing-in": Say("`{field}` is missing in {path:subject}", *_FIELD),
    "unknown-field": Say(
        "'{name:short}' is not a field of {group}",
        "`{name}` is a field of {homes:or of}: check where it stands and its indentation",
        _NEAR,
        "the fields of {group} are {known}",
    ),
    "not-a-name": Say("'{name:short}' cannot be a name: a name is {rule}", "write for example `{better:short}`"),
    "names-without-decision": Say(
        "{called:subject} does not say which decision it is about",
        "write `{instead}`",
        "leave out {several:one of} if it is not meant",
        "write for example `{example}`",
    ),
    "wrong-value": Say(
        "{called:subject} must be {wanted:wanted}, not {found:found}",
        _NEAR,
        *_MEANT,
        "{advice}",
        "write for example `{example}`",
    ),
    "wrong-value-such-as": Say(
        "{called:subject} must be {wanted:wanted}, such as `{shown}`, not {found:found}", _NEAR, *_MEANT, "{advice}"
    ),
}
"""Fields that are not as their schema says; the schemas bring some of the words along."""

FOLDER: Mapping[str, Say] = {
    "no-such-folder": Say("there is no folder {path:path}"),
    "not-a-folder": Say("{path} is a file; name the folder that holds protocol.yaml"),
    "no-protocol": Say("the folder {path} holds no protocol.yaml"),
    "protocol-below": Say("the folder {path} holds no protocol.yaml; there is one in {below:one of}"),
    "protocol-misnamed": Say("the folder {path} holds no protocol.yaml; rename {alike}"),
    "no-protocol-among": Say("there is no protocol.yaml"),
    "too-many-names": Say("the folder holds more than {most} files", "keep the protocol in a folder of its own"),
    "folder-closed": Say("the folder cannot be opened ({reason})", _WHO),
    "file-closed": Say("the file cannot be opened ({reason})", _WHO),
    "materials-missing": Say("the protocol has no file materials.yaml", "write one with `agents`: what can be placed"),
    "rule-misnamed": Say(
        "'{name}' cannot be a rule's name",
        "name the file in small letters, digits and single hyphens, for example `{better}.md`",
    ),
    "file-misnamed": Say(
        "'{name}' cannot be the name of a file here",
        "name the file in small letters, digits and single hyphens, for example `{better}.yaml`",
    ),
    "no-rules": Say(
        "the protocol has no rule", "write one rule a file in the folder `rules`, for example `rules/my-first-rule.md`"
    ),
    "folder-outside": Say(_OUT, "put the folder itself here"),
    "file-outside": Say(_OUT, "put the file itself here"),
    "link-to-nowhere": Say("this link leads nowhere", "put the file itself here"),
    "rules-no-folder": Say("this is not a folder", "make it a folder that holds the rules"),
    "no-folder": Say("this is not a folder", "make it a folder that holds files of its kind, or move it elsewhere"),
    "no-front-matter": Say(
        "a rule starts with a line of three hyphens",
        "put `---` on the first line, then the fields, then `---` again, then the reasons",
    ),
    "front-matter-not-closed": Say(
        "the fields of this rule never end", "put a line `---` after the last field, before the reasons"
    ),
    "reasons-too-long": Say(
        "the reasons of this rule are longer than {most} characters", "say it shorter, or in several rules"
    ),
    "no-text-file": Say("this is not a file of text", "put a file of text here"),
    "file-too-large": Say("the file is larger than {megabytes} MB", "keep only the text of the protocol in it"),
    "given-file-too-large": Say("the file is larger than {megabytes} MB", "put a file of text here"),
    "not-utf-8": Say("the file is not in UTF-8", "save it again with the encoding UTF-8"),
    "hidden-character": Say(
        "a hidden character stands here ({character:code})", "delete it, or type the passage again"
    ),
}

MARKDOWN: Mapping[str, Say] = {
    "nested-too-deep": Say("lists or quotes stand more than {most} deep in each other", "use fewer levels"),
    "raw-html": Say("raw HTML is not allowed", "write it in Markdown, or as plain words"),
    "picture": Say("pictures are not allowed here", "describe it in words"),
    "bare-address": Say(
        "an address in angle brackets is not allowed", "write it as a link with words: `[words]({target})`"
    ),
    "unsafe-link": Say(
        "a link may not lead there",
        "link to a place in the page (`#`), an `https://` address, a `mailto:` address or a relative one",
    ),
    "invisible-character": Say(
        "an invisible or control character ({character:code}) stands here", "delete it, or type the passage again"
    ),
    "invisible-entity": Say("`{entity}` stands for an invisible or control character", "delete it"),
}

TABLES: Mapping[str, Say] = {
    "spreadsheet": Say("this is a spreadsheet, not a table as text; save it as “CSV UTF-8” first"),
    "table-not-utf-8": Say("the table is not written in UTF-8; save it as “CSV UTF-8”"),
    "endless-line": Say("it has a line of more than {most:thousands} characters, so it is no table of cases"),
}

FILES: Mapping[str, Say] = {**YAML, **SHAPE, **FOLDER, **MARKDOWN, **TABLES}

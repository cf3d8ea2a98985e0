"""The words of the list of fields; what a field is for is said in the schema of its file."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import one_of

FOLDER = "my-practice/"
FOLDER_HEAD = "A protocol is a folder:"
OPTIONAL = "may be left out"
WHERE_CITED = "needed where a rule cites"
FILE_OF_MANY = "{folder}/<name>{ending}"

WRITING_HEAD = "How a file is written (in YAML, a way of writing lists that people can read):"
WRITING: tuple[tuple[str, str], ...] = (
    ("title: No liner", "A field is its name, a colon, a blank and its value."),
    (
        "when:\n  rdt: {at_most: 0.5 mm}",
        "What belongs to a field stands below it, two blanks further in; or beside it in { }.",
    ),
    (
        "cites: [ash2020, marlow2019]",
        "A list stands in [ ] with commas; or one item a line, after a hyphen.",
    ),
    ('note: "Seals, it is said: well."', "A text with a comma, a colon or # goes into straight quotes."),
    ("review_by: 2027-09-01", "A day is year, month and day."),
    ("at_most: 0.5 mm", "A measured value has a decimal point and a unit."),
    ("# ask B. Reed", "What follows a blank and # is a remark and is not read."),
)
"""What is written, and what that means."""

RULE_FILES = "A rule is a text file: a line of three hyphens, its fields, three hyphens, then why, in plain words."

TOPICS = "`liningbook fields rule` lists the fields of a rule. There is one for {topics}."
NO_TOPIC = "there is no list of fields called '{name}'; {near}"
THERE_ARE = "there is one for {topics}"

PAGE_TITLE = "Every field of every file"
PAGE_LEAD = (
    "This page is made from the schemas of the files by `make fields`; `liningbook fields` shows the same. "
    "All values are invented."
)
COLUMNS = ("Field", "Needed", "What stands there", "Example")
ONE_NEEDED = "At least one of {names} is needed."
SEE = "{value} (see {group})"

_NEEDED: Mapping[str, str] = {
    "always": "yes", "never": "", "if": "if {key} is {values}", "unless": "unless {key} is given",
}  # fmt: skip


def needed_words(needed: tuple[str, tuple[str, ...]]) -> str:
    """Whether a field must be there: `yes`, `if kind is quantity`, nothing."""
    code, names = needed
    return _NEEDED[code].format(key=names[0] if names else "", values=one_of(names[1:]) if names[1:] else "")


def value_words(value: str | tuple[str, ...], group: str, mark: str = "") -> str:
    """What stands in a field: `a text`, `draft, in-force or withdrawn`, `a range (see Range)`."""
    words = one_of(tuple(f"{mark}{option}{mark}" for option in value)) if isinstance(value, tuple) else value
    return SEE.format(value=words, group=group) if group else words


def of_field(needed: str, value: str) -> str:
    """What stands beside the name of a field: `needed; a text`."""
    must = "needed" if needed == _NEEDED["always"] else f"needed {needed}" if needed else ""
    return "; ".join(part for part in (must, value) if part)


def stands_there(description: str, value: str) -> str:
    """What a field is for, and what is written there."""
    return f"{description}<br>*{value}*" if value else description


def in_bibtex(name: str, shown: str) -> str:
    """A field of an entry in BibTeX, as an example."""
    return f"@article{{{shown}," if name == "key" else f"{name} = {{{shown}}},"


def in_csl(name: str, csl: str) -> str:
    """How CSL-JSON calls a field of BibTeX, where it has another name for it."""
    return f"in CSL-JSON `{csl}`" if csl != name else ""


REFERENCES = (
    "What rules cite, in BibTeX or CSL-JSON, as every reference manager writes it. Rules name an entry by its key."
)
REFERENCE_FIELDS: tuple[tuple[str, str, str, str, str], ...] = (
    ("key", "id", "yes", "The key by which rules cite the work, of your own making.", "marlow2019"),
    ("title", "title", "", "The title of the work.", "An invented trial of liners"),
    (
        "author",
        "author",
        "",
        "Who wrote it: in BibTeX `Family, Given`, with `and` between two people.",
        "Marlow, A. and Ash, B.",
    ),
    ("year", "issued", "", "When it was published.", "2019"),
    ("journal", "container-title", "", "The journal or the book that it stands in.", "Journal of Invented Dentistry"),
    ("volume", "volume", "", "The volume.", "7"),
    ("number", "issue", "", "The number of the issue.", "2"),
    ("pages", "page", "", "The pages.", "101--109"),
    ("publisher", "publisher", "", "Who published it.", "Invented Press"),
    ("doi", "DOI", "", "The DOI, which tells it from all other works.", "10.5555/12345678"),
    ("pmid", "PMID", "", "Its number in PubMed.", "12345678"),
    ("isbn", "ISBN", "", "The ISBN of a book.", "978-0-306-40615-7"),
    ("url", "URL", "", "Where it can be read.", "https://journal.example/7/101"),
    ("note", "note", "", "A remark.", "Invented."),
)
"""Name in BibTeX, name in CSL-JSON, whether it is needed, what it is, an example."""

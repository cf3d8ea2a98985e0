"""What is said of files that nothing reads, and of texts that YAML may have cut."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.checks.kinds.sources import CutText, NotRead
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.synthesis import EXTRA_MISSING, INSTALL_EXTRA
from liningbook.say.told import Told

_PASS_OVER = N_("or move it elsewhere, or begin its name with _ to have it passed over")
_MOVE = N_("move it elsewhere, or begin its name with _ to have it passed over")
_NOTHING = N_("nothing reads `{file}`")
_NO_RULE = N_("nothing reads `{file}`: a rule is a file whose name ends in .md")
_IN_FOLDER = N_("nothing reads `{file}`: of the folder `{folder}` the files are read whose names end in .yaml")

UNREAD: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "rule-beside": (
        N_("nothing reads `{file}`: rules lie in the folder `rules`"),
        (N_("move it there, as `{better}`"), _PASS_OVER),
    ),
    "rule-misnamed": (_NO_RULE, (N_("rename it to `{better}`"), _PASS_OVER)),
    "rule-by-writer": (
        _NO_RULE,
        (N_("if it is a rule, save its text alone, without any layout, as `{better}`"), _PASS_OVER),
    ),
    "no-rule": (_NO_RULE, (_MOVE,)),
    "folder-among-rules": (
        N_("nothing reads the folder `{file}`: a rule is a file whose name ends in .md"),
        (N_("move its rules up into the folder `rules`"), _PASS_OVER),
    ),
    "misnamed-rules": (
        N_("nothing reads the folder `{file}`: the one that is read is called `{instead}`"),
        (N_("if it holds rules, rename it to `{instead}`, or move them there"), _PASS_OVER),
    ),
    "rules-in-folder": (
        N_("nothing reads the folder `{file}`, and `{first}` is a rule"),
        (N_("move its rules into the folder `rules`"), _PASS_OVER),
    ),
    "misnamed": (
        N_("nothing reads `{file}`: the file that is read is called `{instead}`"),
        (N_("rename it to `{instead}`"), _PASS_OVER),
    ),
    "misnamed-too": (
        N_("nothing reads `{file}`: `{instead}` is the one that is read"),
        (N_("bring what is needed of it into `{instead}`, and take it away"), _PASS_OVER),
    ),
    "misnamed-in-folder": (_IN_FOLDER, (N_("rename it to `{better}`"), _PASS_OVER)),
    "other-in-folder": (_IN_FOLDER, (_MOVE,)),
    "folder-in-folder": (
        N_("nothing reads the folder `{file}`: of the folder `{folder}` the files are read whose names end in .yaml"),
        (N_("move its files up into the folder `{folder}`"), _PASS_OVER),
    ),
    "beside-its-folder": (
        N_("nothing reads `{file}`: files like it lie in the folder `{folder}`"),
        (N_("move it there, as `{better}`"), _PASS_OVER),
    ),
    "misnamed-folder": (
        N_("nothing reads the folder `{file}`: the one that is read is called `{instead}`"),
        (N_("if it holds what belongs there, rename it to `{instead}`, or move that there"), _PASS_OVER),
    ),
    "sources-in-folder": (
        N_("nothing reads the folder `{file}`, and `{first}` belongs in the folder `{folder}`"),
        (N_("move it into the folder `{folder}`"), _PASS_OVER),
    ),
    "not-yet": (N_("this version does not read `{file}`"), (_MOVE,)),
    "other-references": (
        N_("nothing reads `{file}`: references in this form are not read"),
        (
            N_("export them as BibTeX to `references.bib`, or as CSL-JSON to `references.json`"),
            _PASS_OVER,
        ),
    ),
    "other-protocol": (
        N_("the folder `{file}` holds a protocol of its own, which is no part of this one"),
        (N_("keep each protocol in a folder of its own, side by side"), _PASS_OVER),
    ),
    "file": (_NOTHING, (_MOVE,)),
    "near": (_NOTHING, (N_("did you mean `{near}`?"), _PASS_OVER)),
    "extra-missing": (EXTRA_MISSING, (INSTALL_EXTRA,)),
    "folder-closed": (
        N_("the folder `{file}` cannot be opened ({reason}), so whether it holds rules is not known"),
        (N_("check who may read it"), _PASS_OVER),
    ),
    "too-many-here": (
        N_("the protocol's folder holds more than {most} files, so whether rules are among them is not known"),
        (N_("keep the protocol in a folder of its own"),),
    ),
    "too-many-names": (
        N_("the folder `{file}` holds more than {most} files, so whether rules are among them is not known"),
        (_MOVE,),
    ),
}
"""Message and help of each code of a file that nothing reads."""


def not_read(fact: NotRead) -> Told:
    """A file or a folder that nothing reads."""
    unread, given = fact.unread, fact.unread.given
    if unread.what == "folder":
        return Told(_folder_words(unread.file, given["count"], given["is_whole"]), help=(gettext(_MOVE),))
    if unread.what == "and-more":
        count = given["count"]
        said = ngettext("nothing reads {n} further file", "nothing reads {n} further files", count)
        return Told(said.format(n=count), help=(gettext(N_("keep the protocol in a folder of its own")),))
    what = unread.what
    if what == "misnamed" and given["is_there"]:
        what = "misnamed-too"
    elif what == "file" and given["near"]:
        what = "near"
    message, helped = UNREAD[what]
    values = {**given, "file": unread.file}
    return Told(gettext(message).format(**values), help=tuple(gettext(line).format(**values) for line in helped))


def _folder_words(file: str, count: int, is_whole: bool) -> str:
    if not is_whole:
        return gettext("nothing reads the folder `{file}`, and it holds more than can be looked at").format(file=file)
    said = ngettext(
        "nothing reads the folder `{file}`, which holds {n} file",
        "nothing reads the folder `{file}`, which holds {n} files",
        count,
    )
    return said.format(file=file, n=count)


def cut_text(fact: CutText) -> Told:
    """A place at which a text may have been cut in two."""
    cut = fact.cut
    related = ((cut.other, gettext("the text before it")),) if cut.other is not None else ()
    if cut.sign == "#":
        return Told(
            gettext("“{text}” is not read; is it a part of the text before it?").format(text=cut.after),
            help=(
                gettext("if it is, put the whole text in quotes"),
                gettext("if it is a comment, put it on a line of its own, or a blank after the `#`"),
            ),
        )
    return Told(
        gettext("a comma makes “{text}” a text of its own; is it a part of the one before it?").format(text=cut.after),
        "",
        related,
        help=(
            gettext("if it is, put the whole text in quotes"),
            gettext("if it is a text of its own, put it in quotes, or begin it with a capital letter"),
        ),
    )

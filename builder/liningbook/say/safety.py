"""The cautions that every output carries, whatever the practice adds."""

STANDING_CAUTIONS: tuple[str, ...] = (
    "This supports the judgement of the licensed clinician and does not replace it; record why you depart from it.",
    "The law of the place and the manufacturer's instructions for use come before this protocol.",
    "Check allergies and medical history before any agent is chosen.",
    "Remaining dentine thickness is an estimate: record how it was judged.",
    "No patient data belong on or in this document.",
)

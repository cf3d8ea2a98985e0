"""The cautions that every output carries, whatever the practice adds."""

STANDING_CAUTIONS: tuple[str, ...] = (
    "This protocol supports the judgement of the licensed clinician and does not replace it; a departure is allowed "
    "and is recorded with its reason.",
    "The law of the place and the manufacturer's instructions for use come before this protocol.",
    "Check the patient's allergies and medical history before any agent is chosen.",
    "A remaining dentine thickness is an estimate: record how it was judged.",
    "No patient data belong on or in this document.",
)

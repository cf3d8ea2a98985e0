"""A usual case of the demonstration, with a value for every factor."""

from __future__ import annotations

USUAL_CASE = {
    "rdt": "0.5 mm",
    "exposed": "no",
    "pulp": "normal",
    "restoration": "amalgam",
    "metal-contact": "no",
    "amalgam-restricted": "no",
    "methacrylate-allergy": "no",
    "eugenol-allergy": "no",
    "rosin-allergy": "no",
    "amalgam-metal-allergy": "no",
}

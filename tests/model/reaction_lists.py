"""What the published lists say, sign by sign, in the sources' own terms; and the demo's tables."""

import tomllib
from pathlib import Path
from typing import Any

import msgspec

from chinrest.model.reaction.tables import ReactionTables, Scale

SOURCE = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pack"
TABLES = msgspec.convert(tomllib.loads((SOURCE / "reaction.toml").read_text("utf-8")), ReactionTables)
SIGNS = [sign.id for sign in TABLES.signs]
SCALE: dict[str, Scale] = {scale.id: scale for scale in TABLES.scales}

# A source's term -> the signs that a photographer would tap for it.
TERM: dict[str, list[str]] = {
    "nausea": ["nausea"],
    "vomiting": ["vomiting", "vomiting_again"],
    "brief vomiting": ["vomiting"],  # the dye's lists call mild what is brief (definition from memory)
    "sneezing": ["sneezing"],
    "itching": ["itching"],
    "extravasation": ["swelling_at_needle"],
    "urticaria": ["hives_or_rash"],
    "rash": ["hives_or_rash"],
    "skin only": ["itching", "hives_or_rash", "flushing", "swelling_face"],
    "syncope": ["fainted"],
    "dizziness": ["near_faint"],
    "vasovagal attack": ["fainted", "near_faint"],
    "hypotension": ["low_pressure"],
    "blood pressure down by 20 mmHg": ["low_pressure"],
    "angioedema": ["swelling_face"],
    "dyspnoea": ["short_of_breath"],
    "fever": ["fever"],
    "bronchospasm": ["wheeze"],
    "wheeze": ["wheeze"],
    "laryngeal oedema": ["stridor"],
    "stridor": ["stridor"],
    "cardiac arrest": ["no_pulse"],
    "respiratory arrest": ["not_breathing"],
    "seizure": ["seizure"],
    "shock": ["shock"],
    "cramps": ["belly_cramps"],
    "abdominal pain": ["belly_cramps"],
    "rhinorrhoea": ["runny_nose"],
    "hoarseness": ["hoarse"],
    "pulse up by 20 a minute": ["fast_pulse"],
    "arrhythmia": ["uneven_pulse"],
    "defaecation": ["bowel_let_go"],
    "incontinence": ["bowel_let_go"],
    "cyanosis": ["blue"],
    "hypoxia": ["low_saturation", "blue"],
    "sweating": ["pale_or_sweating"],
    "presyncope": ["near_faint"],
    "chest or throat tightness": ["chest_pain", "throat_tight"],
    "confusion": ["confused"],
    "collapse": ["fainted"],
    "loss of consciousness": ["unconscious"],
}

# Scale -> class -> the source's terms.
PUBLISHED: dict[str, dict[str, list[str]]] = {
    # Yannuzzi 1986 (Ophthalmology 93:611): mild, moderate, severe. Signs as listed in Eye 2022
    # (s41433-022-01951-5); extravasation mild in one source; fever from Beleña 2013. Laryngeal oedema,
    # cardiac arrest and shock as severe: from memory.
    "fluorescein_survey": {
        "mild": ["nausea", "brief vomiting", "sneezing", "itching", "extravasation"],
        "moderate": [
            "urticaria", "rash", "syncope", "dizziness", "hypotension", "angioedema", "dyspnoea", "fever",
        ],
        "severe": ["bronchospasm", "laryngeal oedema", "cardiac arrest", "seizure", "shock"],
    },
    # Beleña 2013: 114 mild (nausea 52, vomiting 22, vasovagal 24, sneezing 16), 71 moderate (urticaria 46,
    # rash 18, fever 5, 2 more) of 14,455.
    "fluorescein_series": {
        "mild": ["nausea", "brief vomiting", "vasovagal attack", "sneezing"],
        "moderate": ["urticaria", "rash", "fever"],
    },
    # Ring and Messmer 1977, read in a page that quotes it.
    "ring_messmer": {
        "I": ["skin only"],
        "II": [
            "nausea", "cramps", "rhinorrhoea", "hoarseness", "dyspnoea", "pulse up by 20 a minute",
            "blood pressure down by 20 mmHg", "arrhythmia",
        ],
        "III": ["vomiting", "defaecation", "laryngeal oedema", "bronchospasm", "cyanosis", "shock"],
        "IV": ["respiratory arrest", "cardiac arrest"],
    },
    # Brown 2004 (J Allergy Clin Immunol 114:371), n = 1,149.
    "brown": {
        "1": ["skin only"],
        "2": [
            "sweating", "vomiting", "presyncope", "dyspnoea", "stridor", "wheeze",
            "chest or throat tightness", "nausea", "abdominal pain",
        ],
        "3": ["hypotension", "hypoxia", "confusion", "collapse", "loss of consciousness", "incontinence"],
    },
}  # fmt: skip


def published(scale: str) -> dict[str, str]:
    """Sign, then the class that the source puts it in."""
    places: dict[str, str] = {}
    for name, terms in PUBLISHED[scale].items():
        for term in terms:
            for sign in TERM[term]:
                assert places.setdefault(sign, name) == name, f"{scale}: {sign} stands in two classes"
    return places


def tables(**given: Any) -> ReactionTables:
    return msgspec.structs.replace(TABLES, **given)

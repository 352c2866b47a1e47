"""The sessions whose reports are held as golden text: usual, signed, foreign names, bad, empty."""

from dataclasses import replace

from slowphase.analysis.result import NO_PATTERNS, NO_SUMMARY
from slowphase.report.clinic import Clinic
from slowphase.signing.decisions import Decisions
from slowphase.signing.record import freeze, signed_reading
from slowphase.signing.signature import Earlier, sign_as

CASES = ("full", "signed", "foreign", "bad", "empty")
# Invented. Chinese, Arabic, an emoji with a joiner, a combined accent, and what typst or HTML read.
FOREIGN = "王小明 محمد علي 🧑‍⚕️ Zoë Ångström ไทย"
HOSTILE = '#eval("1") $x$ ] *b* _i_ `c` @l <l> \\n // /* & " \' {{ }} #import "@preview/x:1.0.0"'
NOTHING_READ = {
    "statements": (),
    "patterns": NO_PATTERNS,
    "criteria": (),
    "summary": NO_SUMMARY,
}


def case(name, analysis):
    """The analysis of a case, and what else its page is made of."""
    return {
        "full": lambda: (analysis, {}),
        "signed": lambda: _signed(analysis),
        "foreign": lambda: _foreign(analysis),
        "bad": lambda: (_bad(analysis), {}),
        "empty": lambda: (_empty(analysis), {}),
    }[name]()


def signed_parts(analysis, *, version=2):
    """Decisions, signature and frozen record of an invented signing."""
    decisions = Decisions(
        reworded={"summary": "In the signer's own words.", "spontaneous_nystagmus": "Beats right."},
        dropped={"vertical_nystagmus": "the lid hid the eye"},
        remark=f"Seen together.\n\n{HOSTILE}",
    )
    earlier = None
    if version > 1:
        differs = ("edits", "numbers")
        earlier = Earlier(version - 1, "d" * 64, "e" * 64, differs)
    signature = sign_as("A. Meyer, audiologist", "2026-03-04T09:30:00+01:00", earlier)
    return decisions, signature, freeze(analysis, decisions, signature)


def _signed(analysis):
    decisions, signature, frozen = signed_parts(analysis)
    clinic = Clinic("Example Balance Clinic", ("1 Invented Street", "12345 Sampletown"))
    signed = signed_reading(frozen, decisions, signature)
    return analysis, {"signed": signed, "clinic": clinic}


def _foreign(analysis):
    patient = replace(analysis.patient, code=f"{FOREIGN} {HOSTILE}")
    trial = replace(
        analysis.trials[0], id=f"{FOREIGN} {HOSTILE}", reason=HOSTILE, outcome="stopped"
    )
    changed = replace(
        analysis, patient=patient, trials=(trial, *analysis.trials[2:4]), pairs=(), placements={}
    )
    return changed, {"clinic": Clinic(FOREIGN, (HOSTILE,))}


def _bad(analysis):
    return replace(
        analysis,
        **NOTHING_READ,
        trials=tuple(t for t in analysis.trials if t.outcome == "not done"),
        pairs=(),
        placements={},
        date=None,
        patient=replace(analysis.patient, age_years=None),
    )


def _empty(analysis):
    return replace(analysis, trials=(), pairs=(), problems=(), placements={}, **NOTHING_READ)

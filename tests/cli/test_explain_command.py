import json

import pytest
from jsonschema import Draft202012Validator

import slowphase
from slowphase.analysis.reflex_document import reflex_document, reflex_schema
from slowphase.cli.demo_sessions import demo_session, demo_table
from slowphase.cli.writing import deliver_reflex


@pytest.fixture(scope="module")
def explained():
    analysis = slowphase.analyze(demo_session(demo_table("one_sided")))
    return analysis, slowphase.explain(analysis)


def test_the_document_of_an_explanation_follows_its_schema(explained):
    document = reflex_document(*explained)
    Draft202012Validator.check_schema(reflex_schema())
    Draft202012Validator(reflex_schema()).validate(document)
    assert json.loads(json.dumps(document, allow_nan=False)) == document


def test_the_document_says_so_where_nothing_moves(explained):
    document = reflex_document(explained[0], None)
    Draft202012Validator(reflex_schema()).validate(document)
    assert document["reflex"] is None


def test_the_demo_with_a_right_loss_is_explained_by_it_whatever_else_fits(explained):
    """The truth of the demo is in cli/demo/one_sided.toml: decays of 7 and 10 s, 5 deg/s."""
    reflex = explained[1]
    assert reflex.explanations[0].code == "right_loss"
    assert reflex.explanations[0].as_well
    values = {measure.name: measure for measure in reflex.measures}
    assert values["decay_right"].value == pytest.approx(7.0, rel=0.06)
    assert values["decay_left"].value == pytest.approx(10.0, rel=0.06)
    assert values["nystagmus"].value == pytest.approx(5.0, abs=0.5)
    assert reflex.agreement.p > 0.01


def test_the_text_fits_the_screen_and_says_what_matters(explained, capsys, tmp_path):
    deliver_reflex(*explained, as_json=False, output=None)
    text = capsys.readouterr().out
    assert max(len(line) for line in text.splitlines()) <= 80
    for said in ("Do the trials agree?", "left-beating", "right labyrinth weaker", "no diagnosis"):
        assert said in text.replace("\n", " ")
    deliver_reflex(*explained, as_json=False, output=tmp_path / "out.txt")
    assert (tmp_path / "out.txt").read_text(encoding="utf-8") == text


def test_an_explanation_is_the_same_each_time(explained):
    again = slowphase.explain(explained[0])
    assert reflex_document(explained[0], again) == reflex_document(*explained)

"""Every rule of agreement, in the order in which they are read."""

from slowphase.reading.agreement import (
    alertness,
    directions,
    frequencies,
    per_post,
    phase_time_constant,
    suppression,
    typed,
    weaker_side,
)
from slowphase.reading.agreement.comparison import AgreementRule
from slowphase.reading.agreement.trials import TRIALS

RULES: tuple[AgreementRule, ...] = (
    *TRIALS,
    AgreementRule("nystagmus_weaker_side", weaker_side.judge),
    AgreementRule("directions", directions.judge),
    AgreementRule("phase_time_constant", phase_time_constant.judge),
    AgreementRule("per_post", per_post.judge),
    AgreementRule("alertness_time_constant", alertness.judge),
    AgreementRule("suppression_nystagmus", suppression.judge_nystagmus),
    AgreementRule("suppression_caloric", suppression.judge_caloric),
    AgreementRule("suppression_pursuit", suppression.judge_pursuit),
    AgreementRule("frequencies", frequencies.judge),
    AgreementRule("typed_recorded", typed.judge),
)

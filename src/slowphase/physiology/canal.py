"""The canal: how the cupula alone turns head velocity into a signal.

    H(s) = s·Tc / (1 + s·Tc)

Human cupula: Tc = 4.2 ± 0.6 s (J Vestib Res 1999 9:293–301, abstract read); models of the
reflex use 5.7 s (J Neurophysiol 2009 102:2232–2244, abstract read). The default lies between.
"""

from slowphase.physiology.transfer import Transfer, high_pass

CUPULA_S = 5.0


def cupula(time_constant_s: float = CUPULA_S) -> Transfer:
    """The cupula as a high-pass of head velocity."""
    return high_pass(time_constant_s)

"""The plants' own property fits against iapws itself, at points that are not the fits' own."""

import numpy as np
import pytest
from iapws import IAPWS97

from sevenppb.synthetic.steam import air_saturated_oxygen, ln_bar, steam


@pytest.mark.parametrize("pressure", [0.45e5, 1.013e5, 1.37e5, 2.9e5, 7.7e5, 16.3e5])
def test_saturation_line_agrees_with_iapws(pressure: float) -> None:
    s, at = steam(), ln_bar(np.array(pressure))
    liquid, vapour = IAPWS97(P=pressure / 1e6, x=0), IAPWS97(P=pressure / 1e6, x=1)
    assert s.saturation(at) == pytest.approx(liquid.T - 273.15, abs=1e-3)
    assert s.liquid(at) == pytest.approx(liquid.h, abs=0.01)
    assert s.vapour(at) == pytest.approx(vapour.h, abs=0.01)
    assert np.exp(s.ln_density(at)) == pytest.approx(vapour.rho, rel=1e-5)
    assert s.temperature(s.enthalpy(np.array(liquid.T - 273.15))) == pytest.approx(
        liquid.T - 273.15, abs=5e-3
    )


def test_rows_of_the_time_loop_are_the_same_functions() -> None:
    s, at = steam(), ln_bar(np.array([1.1e5, 3.0e5, 9.0e5]))
    block = s.loop[0]
    for row in s.loop[1:]:
        block = block * at + row
    assert block[0] == pytest.approx(s.liquid(at), rel=1e-9)
    assert block[2] == pytest.approx(s.vapour(at), rel=1e-9)
    step = 1e-4
    assert block[1] == pytest.approx((s.liquid(at + step) - s.liquid(at - step)) / (2 * step), rel=1e-5)


def test_oxygen_of_water_in_air() -> None:
    # USGS (2011) restating Benson & Krause 1984: 10.084 mg/L at 15 °C and 9.092 at 20 °C under 101.325 kPa;
    # the IAPWS constant used here lies up to 2 % above these tables at room temperature.
    shown = air_saturated_oxygen(np.array([15.0, 20.0]), np.array(101325.0)) / 1000
    assert shown == pytest.approx([10.084, 9.092], rel=0.02)

"""Unit → scale and offset to the unit used inside: inside = value × scale + offset.

Pint's own factors, to the last digit (tests/detect/test_unit_names.py asks it again for each). They stand here because
pint takes 0.3 s to load its units, which is a tenth of a whole scan of a vessel's year.
"""

# dimension → {pint's expression: (scale, offset)}; inside are Pa, degC, kg/s, m3/s, fractions, ppb (ug/kg) and m
FACTORS: dict[str, dict[str, tuple[float, float]]] = {
    "pressure": {
        "Pa": (1.0, 0.0),
        "hPa": (100.0, 0.0),
        "kPa": (1000.0, 0.0),
        "MPa": (1000000.0, 0.0),
        "bar": (100000.0, 0.0),
        "mbar": (100.0, 0.0),
        "psi": (6894.7572931683635, 0.0),
        "atm": (101325.0, 0.0),
        "kgf/cm**2": (98066.5, 0.0),
        "inHg": (3386.3886403409997, 0.0),
        "mmHg": (133.322387415, 0.0),
        "inH2O": (249.08890999999997, 0.0),
        "cmH2O/10": (9.80665, 0.0),
        "cmH2O": (98.06649999999999, 0.0),
        "100*cmH2O": (9806.65, 0.0),
        "ftH2O": (2989.0669199999993, 0.0),
    },
    "temperature": {
        "degC": (1.0, 0.0),
        "degF": (0.5555555555555557, -17.777777777777743),
        "kelvin": (1.0, -273.15),
        "degR": (0.5555555555555556, -273.15),
    },
    "temperature difference": {
        "delta_degC": (1.0, 0.0),
        "delta_degF": (0.5555555555555556, 0.0),
    },
    "flow": {
        "kg/s": (1.0, 0.0),
        "kg/min": (0.016666666666666666, 0.0),
        "kg/h": (0.0002777777777777778, 0.0),
        "t/h": (0.2777777777777778, 0.0),
        "t/day": (0.011574074074074073, 0.0),
        "lb/s": (0.4535923700000001, 0.0),
        "lb/min": (0.007559872833333334, 0.0),
        "lb/h": (0.0001259978805555556, 0.0),
        "1000*lb/h": (0.12599788055555558, 0.0),
        "1e6*lb/h": (125.99788055555558, 0.0),
        "short_ton/h": (0.25199576111111116, 0.0),
        "long_ton/h": (0.2822352524444445, 0.0),
    },
    "volume flow": {
        "gallon/min": (6.309019639999999e-05, 0.0),
        "imperial_gallon/min": (7.57681666666667e-05, 0.0),
        "gallon/h": (1.0515032733333332e-06, 0.0),
        "m**3/h": (0.0002777777777777778, 0.0),
        "m**3/s": (1.0, 0.0),
        "liter/min": (1.666666666666667e-05, 0.0),
        "liter/s": (0.0010000000000000002, 0.0),
        "liter/h": (2.7777777777777787e-07, 0.0),
    },
    "fraction": {
        "percent": (0.01, 0.0),
        "dimensionless": (1.0, 0.0),
    },
    "oxygen": {
        "ug/kg": (1.0, 0.0),
        "mg/kg": (1000.0, 0.0),
    },
    "length": {
        "mm": (0.001, 0.0),
        "cm": (0.01, 0.0),
        "m": (1.0, 0.0),
        "inch": (0.0254, 0.0),
        "ft": (0.30479999999999996, 0.0),
    },
}

"""How people and historians spell units: the one home of every spelling, by dimension.

The factors stand in `unit_factors`. `units` folds case, blanks, dots and brackets away before it looks
a spelling up, so each stands here once.
"""

from typing import Literal

Reference = Literal["plain", "gauge", "absolute", "vacuum", "difference"]

# dimension → {pint's expression: spellings, folded as `fold` does}. The first spelling is the one shown.
SPELLINGS: dict[str, dict[str, tuple[str, ...]]] = {
    "pressure": {
        "Pa": ("Pa", "pascal"),
        "hPa": ("hPa",),
        "kPa": ("kPa", "kilopascal"),
        "MPa": ("MPa", "megapascal"),
        "bar": ("bar", "bars"),
        "mbar": ("mbar", "millibar", "mb"),
        "psi": ("psi", "lb/in2", "lbf/in2", "lb/sqin", "#"),
        "atm": ("atm",),
        "kgf/cm**2": ("kgf/cm2", "kg/cm2", "kp/cm2", "at", "ksc"),
        "inHg": ("inHg", "inchhg", "inchofmercury", "inchesofmercury", '"hg'),
        "mmHg": ("mmHg", "torr"),
        "inH2O": ("inH2O", "inwc", "inwg", "inw", "inchh2o", "inchwc", '"h2o', '"wc', '"wg'),
        "cmH2O/10": ("mmH2O", "mmwc", "mmwg", "mmws"),
        "cmH2O": ("cmH2O", "cmwc"),
        "100*cmH2O": ("mH2O", "mwc", "mws"),
        "ftH2O": ("ftH2O", "ftwc"),
    },
    "temperature": {
        "degC": ("degC", "c", "celsius", "degcelsius", "centigrade", "grdc"),
        "degF": ("degF", "f", "fahrenheit", "degfahrenheit"),
        "kelvin": ("K", "kelvin", "degk"),
        "degR": ("degR", "rankine"),
    },
    "temperature difference": {
        "delta_degC": ("delta_degC", "deltac", "deltak", "degcdelta", "k", "kelvin"),
        "delta_degF": ("delta_degF", "deltaf", "degfdelta"),
    },
    "flow": {
        "kg/s": ("kg/s", "kg/sec", "kgps"),
        "kg/min": ("kg/min",),
        "kg/h": ("kg/h", "kg/hr", "kg/hour", "kgh", "kgph"),
        "t/h": ("t/h", "t/hr", "te/h", "te/hr", "tonne/h", "tonnes/h", "mt/h", "tph", "tn/h"),
        "t/day": ("t/d", "t/day", "tonne/d"),
        "lb/s": ("lb/s", "lb/sec", "lbm/s"),
        "lb/min": ("lb/min", "lbm/min"),
        "lb/h": ("lb/h", "lb/hr", "lbs/h", "lbs/hr", "lbm/h", "lbm/hr", "lb/hour", "pph", "lbh", "lbhr",
                 "#/h", "#/hr"),
        "1000*lb/h": ("klb/h", "klb/hr", "klbs/h", "klbs/hr", "klbm/h", "klbm/hr", "kpph", "klbh", "klbhr",
                      "k#/h", "k#/hr"),
        "1e6*lb/h": ("MMlb/h", "mmlb/hr", "mmlbm/hr", "mmpph"),
        "short_ton/h": ("short_ton/h", "shortton/hr", "st/h"),
        "long_ton/h": ("long_ton/h", "longton/hr"),
    },
    "volume flow": {
        "gallon/min": ("gpm", "usgpm", "gal/min", "gallon/min", "gallons/min"),
        "imperial_gallon/min": ("igpm", "ukgpm", "impgal/min", "impgpm"),
        "gallon/h": ("gph", "gal/h", "gal/hr"),
        "m**3/h": ("m3/h", "m3/hr", "cmh", "cum/h", "cum/hr"),
        "m**3/s": ("m3/s", "m3/sec"),
        "liter/min": ("L/min", "lpm", "litre/min", "liter/min"),
        "liter/s": ("L/s", "l/sec", "lps"),
        "liter/h": ("L/h", "l/hr", "lph"),
    },
    "fraction": {
        "percent": ("%", "pct", "percent", "%open", "percentopen", "%opn", "%stroke", "%span",
                    "%level", "prc"),
        "dimensionless": ("fraction", "1", "0-1", "frac", "pu"),
    },
    "oxygen": {
        # a litre of cold sample water is taken as a kilogram: within 0.3 % up to 25 degC
        "ug/kg": ("ppb", "ppbw", "ug/kg", "ug/L", "mcg/l", "mg/m3", "ppbo2", "ppbdo"),
        "mg/kg": ("ppm", "ppmw", "mg/kg", "mg/L", "g/m3"),
    },
    "length": {
        "mm": ("mm", "millimetre", "millimeter"),
        "cm": ("cm",),
        "m": ("m", "metre", "meter"),
        "inch": ("in", "inch", '"', "inches"),
        "ft": ("ft", "feet", "foot"),
    },
}  # fmt: skip

# what may follow a pressure's unit
SUFFIX: dict[str, Reference] = {
    "gauge": "gauge", "gage": "gauge", "gge": "gauge", "ga": "gauge", "g": "gauge",
    "ü": "gauge", "ue": "gauge", "überdruck": "gauge",  # as German exports write it
    "absolute": "absolute", "absolut": "absolute", "abs": "absolute", "a": "absolute",
    "vacuum": "vacuum", "vac": "vacuum", "v": "vacuum",
    "differential": "difference", "diff": "difference", "dp": "difference", "d": "difference",
}  # fmt: skip

# folded spellings that mean different things at different sites → what to write instead
AMBIGUOUS = {
    "mlb/h": "klb/h or MMlb/h", "mlb/hr": "klb/h or MMlb/h", "mlbh": "klb/h or MMlb/h",
    "mpph": "klb/h or MMlb/h",
    "ton/h": "t/h (metric), short_ton/h or long_ton/h", "tons/h": "t/h (metric), short_ton/h or long_ton/h",
    "ton/hr": "t/h (metric), short_ton/h or long_ton/h", "tons/hr": "t/h (metric), short_ton/h or long_ton/h",
    "deg": "degC or degF", "gal/d": "gpm", "%sat": "ppb (saturation depends on temperature and barometer)",
}  # fmt: skip

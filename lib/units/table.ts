/** What a unit measures, in the words messages use. */
export type Dimension =
  | "ratio"
  | "time"
  | "frequency"
  | "length"
  | "speed"
  | "acceleration"
  | "mass"
  | "mass flow"
  | "density"
  | "force"
  | "force per speed"
  | "force per speed squared"
  | "torque"
  | "energy"
  | "power"
  | "pressure"
  | "temperature"
  | "area"
  | "volume"
  | "angle"
  | "angular rate"
  | "rotational speed"
  | "voltage"
  | "current"
  | "resistance"
  | "charge";

/**
 * One unit: SI value = (written + `offset`) · `factor` / `divisor`. Factor and divisor are kept apart and are
 * exact numbers wherever the definition is a fraction, so that a conversion rounds once, not twice.
 */
export interface UnitRow {
  /** how we print it */
  symbol: string;
  dimension: Dimension;
  factor: number;
  divisor: number;
  /** added before scaling; only temperatures have one */
  offset: number;
  /** other spellings that are read, without regard to case where that leaves one meaning */
  spellings: string[];
  source: string;
}

/**
 * The unit every dimension is held in. SI, with two exceptions that the SI Brochure accepts beside it and that every
 * log and every reader of one uses: angles stay in degrees, rotational speed in revolutions per minute.
 */
export const SI_SYMBOL: Record<Dimension, string> = {
  ratio: "1",
  time: "s",
  frequency: "Hz",
  length: "m",
  speed: "m/s",
  acceleration: "m/s2",
  mass: "kg",
  "mass flow": "kg/s",
  density: "kg/m3",
  force: "N",
  "force per speed": "N/(m/s)",
  "force per speed squared": "N/(m/s)2",
  torque: "N m",
  energy: "J",
  power: "W",
  pressure: "Pa",
  temperature: "K",
  area: "m2",
  volume: "m3",
  angle: "deg",
  "angular rate": "deg/s",
  "rotational speed": "r/min",
  voltage: "V",
  current: "A",
  resistance: "ohm",
  charge: "C",
};

const SI = "SI Brochure, 9th edition (2019), by definition or decimal prefix";
const ACCEPTED = "SI Brochure, 9th edition (2019), table 8, units accepted beside the SI";
const SP811 = "NIST SP 811 (2008), appendix B, by definition of inch, pound, mile or standard gravity";
const WORDS = "definition by the word itself";
const ISO3 = "ISO 80000-3:2019, rotational frequency in revolutions a minute";

/** Standard gravity [m/s²], exact (3rd CGPM, 1901). */
export const STANDARD_GRAVITY_MPS2 = 9.80665;
/** Pound [kg], exact (international yard and pound agreement, 1959). */
const LB = 0.45359237;
/** Pound-force [N], exact product of the two above. */
const LBF = 4.4482216152605;

function row(
  symbol: string,
  dimension: Dimension,
  factor: number,
  divisor: number,
  source: string,
  spellings = "",
  offset = 0,
): UnitRow {
  const others = spellings === "" ? [] : spellings.split("|");
  return {symbol, dimension, factor, divisor, offset, spellings: others, source};
}

/** All units that are read and printed. Spellings are listed after normalising (see `parseUnit`). */
export const UNITS: readonly UnitRow[] = [
  row("1", "ratio", 1, 1, SI, "ratio|fraction|-|none|unitless"),
  row("%", "ratio", 1, 100, WORDS, "percent|per cent|pct|prct"),

  row("s", "time", 1, 1, SI, "sec|secs|second|seconds"),
  row("ms", "time", 1, 1e3, SI, "msec|millisecond|milliseconds|millis"),
  row("us", "time", 1, 1e6, SI, "usec|microsecond|microseconds"),
  row("ns", "time", 1, 1e9, SI, "nsec|nanosecond|nanoseconds"),
  row("min", "time", 60, 1, ACCEPTED, "minute|minutes"),
  row("h", "time", 3600, 1, ACCEPTED, "hr|hour|hours"),
  row("Hz", "frequency", 1, 1, SI, "1/s|hertz"),
  row("kHz", "frequency", 1e3, 1, SI),

  row("m", "length", 1, 1, SI, "metre|metres|meter|meters|mtr"),
  row("km", "length", 1e3, 1, SI, "kilometre|kilometres|kilometer|kilometers"),
  row("cm", "length", 1, 100, SI),
  row("mm", "length", 1, 1e3, SI),
  row("ft", "length", 3048, 1e4, SP811, "feet|foot"),
  row("in", "length", 254, 1e4, SP811, "inch|inches"),
  row("yd", "length", 9144, 1e4, SP811, "yard|yards"),
  row("mile", "length", 1609344, 1e3, SP811, "mi|miles"),

  row("m/s", "speed", 1, 1, SI, "mps|m/sec|ms-1|m s-1|metres per second|meters per second|meters/second"),
  row(
    "km/h",
    "speed",
    5,
    18,
    ACCEPTED,
    "kph|kmh|kmph|km/hr|kmh-1|km h-1|k/h|kilometers per hour|kilometres per hour",
  ),
  row("mph", "speed", 1397, 3125, SP811, "mi/h|mile/h|miles/h|miles per hour|mile/hr|miles/hr|mi/hr"),
  row(
    "kn",
    "speed",
    463,
    900,
    "international knot, 1852 m an hour (1929); NIST SP 811",
    "knot|knots|kt|kts|kts.",
  ),
  row("ft/s", "speed", 3048, 1e4, SP811, "fps|ft/sec"),
  row("cm/s", "speed", 1, 100, SI),
  row("mm/s", "speed", 1, 1e3, SI),

  row(
    "m/s2",
    "acceleration",
    1,
    1,
    SI,
    "m/s^2|m/s/s|m/s**2|mps2|m/sec2|m/sec^2|ms-2|m s-2|meters per second squared",
  ),
  row("g", "acceleration", STANDARD_GRAVITY_MPS2, 1, "standard gravity, 3rd CGPM (1901)", "G|gee|gn|g0"),
  row("km/h/s", "acceleration", 5, 18, ACCEPTED, "kph/s|kmh/s"),
  row("mph/s", "acceleration", 1397, 3125, SP811),
  row("ft/s2", "acceleration", 3048, 1e4, SP811, "ft/s^2"),

  row("kg", "mass", 1, 1, SI, "kgs|kilogram|kilograms"),
  row("gram", "mass", 1, 1e3, SI, "grams|gr"),
  row("t", "mass", 1e3, 1, ACCEPTED, "tonne|tonnes"),
  row("lb", "mass", LB, 1, SP811, "lbs|pound|pounds|lbm"),
  row("slug", "mass", (LB * STANDARD_GRAVITY_MPS2) / 0.3048, 1, SP811, "slugs"),
  row("kg/s", "mass flow", 1, 1, SI),
  row("g/s", "mass flow", 1, 1e3, SI, "gm/s|g/sec|gram/s|grams/sec"),
  row("kg/h", "mass flow", 1, 3600, ACCEPTED, "kg/hr"),
  row("lb/min", "mass flow", LB, 60, SP811),
  row("lb/h", "mass flow", LB, 3600, SP811, "lb/hr|lbs/hr|lbs/h|pph"),
  row("mg/s", "mass flow", 1, 1e6, SI),
  row("kg/m3", "density", 1, 1, SI, "kg/m^3"),

  row("N", "force", 1, 1, SI, "newton|newtons"),
  row("kN", "force", 1e3, 1, SI),
  row("lbf", "force", LBF, 1, SP811),
  row("kgf", "force", STANDARD_GRAVITY_MPS2, 1, SP811, "kp"),
  row("N/(m/s)", "force per speed", 1, 1, SI, "N s/m|N*s/m"),
  row("N/(km/h)", "force per speed", 18, 5, ACCEPTED, "N/kph|N/km/h"),
  row("lbf/mph", "force per speed", (LBF * 3125) / 1397, 1, SP811, "lb/mph"),
  row("N/(m/s)2", "force per speed squared", 1, 1, SI, "N/(m/s)^2|N s2/m2"),
  row("N/(km/h)2", "force per speed squared", 324, 25, ACCEPTED, "N/(km/h)^2|N/kph2"),
  row(
    "lbf/mph2",
    "force per speed squared",
    (LBF * 3125 * 3125) / (1397 * 1397),
    1,
    SP811,
    "lbf/mph^2|lb/mph2",
  ),
  row("N m", "torque", 1, 1, SI, "Nm|N-m|N.m|N*m|newton metre|newton meter"),
  row(
    "lbf ft",
    "torque",
    LBF * 0.3048,
    1,
    SP811,
    "lb-ft|lb ft|ft-lb|ft lb|ft-lbs|ft lbs|lbft|ftlb|lbf-ft|ft-lbf|ft lbf|lb.ft|ft.lb",
  ),
  row("kgf m", "torque", STANDARD_GRAVITY_MPS2, 1, SP811, "kgfm|kgm|kg-m|kgf-m"),

  row("J", "energy", 1, 1, SI, "joule|joules"),
  row("kJ", "energy", 1e3, 1, SI),
  row("MJ", "energy", 1e6, 1, SI),
  row("Wh", "energy", 3600, 1, ACCEPTED),
  row("kWh", "energy", 36e5, 1, ACCEPTED),
  row("Btu", "energy", 1055.05585262, 1, "International Table Btu, NIST SP 811 (2008), appendix B"),

  row("W", "power", 1, 1, SI, "watt|watts"),
  row("kW", "power", 1e3, 1, SI, "kilowatt|kilowatts"),
  row("MW", "power", 1e6, 1, SI),
  row("mW", "power", 1, 1e3, SI),
  row("PS", "power", 735.49875, 1, "metric horsepower, 75 kgf m/s", "cv|metric hp|hp(M)"),
  row(
    "hp",
    "power",
    LBF * 550 * 0.3048,
    1,
    "mechanical horsepower, 550 ft lbf/s, NIST SP 811 (2008)",
    "bhp|whp|horsepower|hp(I)",
  ),
  row("hp(E)", "power", 746, 1, "electric horsepower, by convention, NIST SP 811 (2008)"),

  row("Pa", "pressure", 1, 1, SI, "pascal"),
  row("hPa", "pressure", 100, 1, SI),
  row("kPa", "pressure", 1e3, 1, SI, "kpa abs|kpa(a)|kpag|kpaa"),
  row("MPa", "pressure", 1e6, 1, SI),
  row("bar", "pressure", 1e5, 1, "NIST SP 811 (2008), table 9", "bars"),
  row("mbar", "pressure", 100, 1, "NIST SP 811 (2008), table 9", "mb|millibar"),
  row("psi", "pressure", LBF / (0.0254 * 0.0254), 1, SP811, "psig|psia|lbf/in2|lb/in2"),
  row("atm", "pressure", 101325, 1, "10th CGPM (1954)"),
  row(
    "inHg",
    "pressure",
    3386.388640341,
    1,
    "conventional inch of mercury, 13 595.1 kg/m3, NIST SP 811 (2008)",
    "in Hg|in-Hg",
  ),
  row(
    "mmHg",
    "pressure",
    133.322387415,
    1,
    "conventional millimetre of mercury, NIST SP 811 (2008)",
    "mm Hg",
  ),
  row("torr", "pressure", 101325, 760, SP811),
  row(
    "inH2O",
    "pressure",
    249.08891,
    1,
    "conventional inch of water, 1000 kg/m3, NIST SP 811 (2008)",
    "in H2O",
  ),

  row("K", "temperature", 1, 1, SI, "kelvin|degK"),
  row(
    "degC",
    "temperature",
    1,
    1,
    SI,
    "C|deg C|celsius|centigrade|degrees C|degree C|deg.C|grad C|dC",
    273.15,
  ),
  row("degF", "temperature", 5, 9, SP811, "F|deg F|fahrenheit|degrees F|degree F|deg.F|dF", 459.67),

  row("m2", "area", 1, 1, SI, "m^2|sq m|sqm"),
  row("cm2", "area", 1, 1e4, SI, "cm^2"),
  row("mm2", "area", 1, 1e6, SI, "mm^2"),
  row("ft2", "area", 3048 * 3048, 1e8, SP811, "ft^2|sq ft"),
  row("m3", "volume", 1, 1, SI, "m^3"),
  row("l", "volume", 1, 1e3, ACCEPTED, "L|litre|litres|liter|liters|ltr"),
  row("ml", "volume", 1, 1e6, ACCEPTED, "mL|cm3|cc|cm^3"),
  row(
    "gal",
    "volume",
    3785411784,
    1e12,
    "US gallon of 231 cubic inches, NIST SP 811 (2008)",
    "gallon|gallons|US gal|US gallon",
  ),
  row("in3", "volume", 16387064, 1e12, SP811, "in^3|cu in|cubic inch"),

  row(
    "deg",
    "angle",
    1,
    1,
    ACCEPTED,
    "degree|degrees|degs|°|deg.|°CA|degCA|deg CA|°BTDC|degBTDC|deg BTDC|degKW|°KW",
  ),
  row("rad", "angle", 180, Math.PI, SI, "radian|radians"),
  row("deg/s", "angular rate", 1, 1, ACCEPTED, "dps|deg/sec|°/sec|degrees/s|degree/s"),
  row("rad/s", "angular rate", 180, Math.PI, SI, "rad/sec"),
  row(
    "r/min",
    "rotational speed",
    1,
    1,
    ISO3,
    "rpm|1/min|rev/min|revs/min|r.p.m.|min-1|U/min|/min|tr/min|revolutions per minute",
  ),

  row("V", "voltage", 1, 1, SI, "volt|volts"),
  row("mV", "voltage", 1, 1e3, SI, "millivolt|millivolts"),
  row("A", "current", 1, 1, SI, "amp|amps|ampere|amperes"),
  row("mA", "current", 1, 1e3, SI),
  row("ohm", "resistance", 1, 1, SI, "ohms|Ω"),
  row("mohm", "resistance", 1, 1e3, SI, "mΩ|milliohm|milliohms"),
  row("kohm", "resistance", 1e3, 1, SI, "kΩ|kiloohm|kiloohms"),
  row("Ah", "charge", 3600, 1, ACCEPTED),
  row("mAh", "charge", 36, 10, ACCEPTED),
];

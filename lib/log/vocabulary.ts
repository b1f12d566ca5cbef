import type {Dimension} from "../units/table.ts";
import {siSymbol} from "../units/unit.ts";

/** One quantity of the field and the words that logs have for it. */
export interface QuantityWords {
  /** our word for it */
  name: string;
  dimension: Dimension | "none";
  /** spellings in order of preference; between "|" they are equally good, after ">" less so */
  words: string;
  /** unit where logs never say one because there is only one in use */
  usual?: string;
}

/** Channels that are known by name. A new one is a new line. */
export const VOCABULARY: readonly QuantityWords[] = [
  {
    name: "time",
    dimension: "time",
    words:
      "time|elapsed time|time elapsed|elapsed|t|zeit|temps|tiempo|log time|session time|run time|time offset|time stamp|timestamp|time rel|relative time > utc|utc time|gps time|clock|clock time|local time|date time|datetime|unix time|epoch|epoch time|time of day|device time|system time|zeitstempel",
  },
  {name: "date", dimension: "none", words: "date|utc date|gps date|datum|day"},
  {
    name: "speed",
    dimension: "speed",
    words:
      "gps speed|satellite speed|speed over ground|ground speed|sog|gnss speed|speed gps|velocity gps > speed|velocity|v|car speed|geschwindigkeit|vitesse|velocidad|speed 2d",
  },
  {
    name: "vehicle-speed",
    dimension: "speed",
    words:
      "vehicle speed|vehicle speed sensor|vss|obd speed|speed obd|can speed|road speed|dash speed > wheel speed|driven wheel speed|speedometer",
  },
  {
    name: "speed-accuracy",
    dimension: "speed",
    words: "speed accuracy|velocity accuracy|speed error|s acc|sacc|speed acc",
  },
  {name: "vertical-speed", dimension: "speed", words: "vertical speed|vertical velocity|climb rate"},
  {
    name: "height",
    dimension: "length",
    words:
      "height|altitude|elevation|ele|gps altitude|gps height|height msl|altitude msl|hoehe|höhe > baro altitude|pressure altitude",
  },
  {
    name: "distance",
    dimension: "length",
    words:
      "distance|gps distance|distance travelled|distance traveled|travelled distance|trip distance|odometer|strecke|weg",
  },
  {name: "latitude", dimension: "angle", words: "latitude|gps latitude", usual: "deg"},
  {name: "longitude", dimension: "angle", words: "longitude|gps longitude", usual: "deg"},
  {
    name: "course",
    dimension: "angle",
    words: "course|heading|course over ground|cog|track|bearing|gps heading|gps course|true course",
    usual: "deg",
  },
  {
    name: "satellites",
    dimension: "ratio",
    words:
      "satellites|satellites used|number of satellites|gps satellites|satellite count|num satellites|nsat|gps nsat",
    usual: "1",
  },
  {name: "hdop", dimension: "ratio", words: "hdop|horizontal dilution|gps hdop", usual: "1"},
  {
    name: "fix",
    dimension: "ratio",
    words: "fix|fix type|fix quality|gps fix|fix mode|gps fix type|gps quality|solution type",
    usual: "1",
  },
  {
    name: "position-accuracy",
    dimension: "length",
    words: "accuracy|position accuracy|horizontal accuracy|h acc|hacc|gps accuracy|pos accuracy",
  },
  {name: "grade", dimension: "ratio", words: "grade|slope|gradient"},
  {
    name: "acceleration",
    dimension: "acceleration",
    words:
      "longitudinal acceleration|acceleration longitudinal|acceleration|long acceleration|acceleration long|long g|longitudinal g|inline acceleration|acceleration x|x acceleration|g x|a x|ax|gx",
  },
  {
    name: "lateral-acceleration",
    dimension: "acceleration",
    words:
      "lateral acceleration|acceleration lateral|lat acceleration|lateral g|lat g|acceleration y|y acceleration|g y|a y|ay|gy",
  },
  {name: "yaw-rate", dimension: "angular rate", words: "yaw rate|yaw velocity|gyro z|z gyro"},
  {
    name: "engine-speed",
    dimension: "rotational speed",
    words:
      "engine speed|engine rpm|rpm|motor speed|revs|drehzahl|motordrehzahl|crank speed|engine revs|n engine|tacho",
    usual: "r/min",
  },
  {
    name: "throttle",
    dimension: "ratio",
    words:
      "throttle|throttle position|throttle angle|absolute throttle position|throttle valve|tps|throttle plate|throttle opening|relative throttle position",
  },
  {
    name: "pedal",
    dimension: "ratio",
    words:
      "pedal|accelerator|accelerator pedal|pedal position|accelerator position|accelerator pedal position|gas pedal|pps|app|accelerator pedal position d|driver demand",
  },
  {
    name: "brake",
    dimension: "none",
    words: "brake|brake switch|brake pedal|brake light|brake on|brake position|brake active",
  },
  {
    name: "brake-pressure",
    dimension: "pressure",
    words: "brake pressure|front brake pressure|brake pressure front",
  },
  {name: "clutch", dimension: "none", words: "clutch|clutch switch|clutch pedal|clutch position"},
  {
    name: "gear",
    dimension: "ratio",
    words: "gear|gear position|current gear|selected gear|gear number|actual gear|gang",
    usual: "1",
  },
  {
    name: "intake-temperature",
    dimension: "temperature",
    words:
      "intake air temperature|intake temperature|iat|inlet air temperature|charge air temperature|intake manifold temperature|inlet temperature|manifold air temperature|air intake temperature",
  },
  {
    name: "coolant-temperature",
    dimension: "temperature",
    words:
      "coolant temperature|engine coolant temperature|coolant|ect|clt|water temperature|cooling water temperature|engine temperature",
  },
  {name: "oil-temperature", dimension: "temperature", words: "oil temperature|engine oil temperature|eot"},
  {
    name: "air-temperature",
    dimension: "temperature",
    words:
      "ambient temperature|ambient air temperature|outside temperature|outside air temperature|air temperature|oat|aat",
  },
  {
    name: "exhaust-temperature",
    dimension: "temperature",
    words: "exhaust temperature|exhaust gas temperature|egt",
  },
  {
    name: "manifold-pressure",
    dimension: "pressure",
    words:
      "manifold pressure|intake manifold pressure|manifold absolute pressure|map|intake manifold absolute pressure|intake pressure|absolute manifold pressure > boost|boost pressure|boost actual|charge pressure|actual boost",
  },
  {
    name: "boost-target",
    dimension: "pressure",
    words:
      "boost target|target boost|boost setpoint|requested boost|desired boost|boost request|boost pressure target|boost pressure setpoint|target map|target manifold pressure",
  },
  {
    name: "air-pressure",
    dimension: "pressure",
    words:
      "barometric pressure|atmospheric pressure|ambient pressure|baro|air pressure|barometer|absolute barometric pressure",
  },
  {name: "oil-pressure", dimension: "pressure", words: "oil pressure|engine oil pressure"},
  {name: "fuel-pressure", dimension: "pressure", words: "fuel pressure|fuel rail pressure|rail pressure"},
  {
    name: "spark-advance",
    dimension: "angle",
    words:
      "spark advance|ignition advance|ignition timing|timing advance|ignition angle|ignition|timing|spark angle|spark timing|ign advance|spark",
    usual: "deg",
  },
  {
    name: "knock-correction",
    dimension: "angle",
    words:
      "knock correction|knock retard|spark correction|ignition correction|knock control|timing correction|timing retard|retard|knock pull|spark retard",
    usual: "deg",
  },
  {name: "ignition-cut", dimension: "none", words: "ignition cut|spark cut|rev limiter|ign cut"},
  {
    name: "lambda",
    dimension: "ratio",
    words: "lambda|lambda actual|lambda 1|measured lambda|lambda value|wideband lambda",
    usual: "1",
  },
  {
    name: "lambda-target",
    dimension: "ratio",
    words: "lambda target|target lambda|lambda setpoint",
    usual: "1",
  },
  {
    name: "air-fuel-ratio",
    dimension: "ratio",
    words: "afr|air fuel ratio|air fuel|wideband|wideband afr",
    usual: "1",
  },
  {
    name: "air-mass-flow",
    dimension: "mass flow",
    words: "maf|mass air flow|air mass flow|air mass|mass airflow|airflow",
  },
  {
    name: "engine-load",
    dimension: "ratio",
    words: "engine load|load|calculated load|calculated engine load|relative load|absolute load",
  },
  {
    name: "fuel-trim-short",
    dimension: "ratio",
    words: "short term fuel trim|stft|short fuel trim|short term fuel trim bank",
  },
  {name: "fuel-trim-long", dimension: "ratio", words: "long term fuel trim|ltft|long fuel trim"},
  {name: "injector-duty", dimension: "ratio", words: "injector duty|injector duty cycle|injection duty"},
  {name: "torque", dimension: "torque", words: "torque|engine torque|motor torque|actual torque"},
  {name: "power", dimension: "power", words: "power|engine power|motor power|wheel power"},
  {name: "steering", dimension: "angle", words: "steering angle|steering|steering wheel angle"},
  {
    name: "battery-voltage",
    dimension: "voltage",
    words:
      "battery voltage|battery|voltage|supply voltage|control module voltage|module voltage|system voltage",
  },
  {name: "lap", dimension: "none", words: "lap|lap number|lap count"},
];

/** Words that logs shorten. */
const LONG_FORM: Record<string, string> = {
  spd: "speed",
  speeds: "speed",
  vel: "velocity",
  veh: "vehicle",
  eng: "engine",
  temp: "temperature",
  tmp: "temperature",
  alt: "altitude",
  lat: "latitude",
  lon: "longitude",
  lng: "longitude",
  long: "longitude",
  sat: "satellites",
  sats: "satellites",
  satelites: "satellites",
  accel: "acceleration",
  acc: "acceleration",
  dist: "distance",
  pos: "position",
  press: "pressure",
  thr: "throttle",
  accelerometer: "acceleration",
  gnss: "gps",
  no: "number",
  num: "number",
  amb: "ambient",
  ignition: "ignition",
  ign: "ignition",
  volt: "voltage",
  batt: "battery",
  lateral: "lateral",
};

/** Words that add nothing to a name. */
const NEUTRAL = new Set([
  "the",
  "of",
  "sensor",
  "actual",
  "current",
  "value",
  "measured",
  "signal",
  "channel",
  "gps",
  "ecu",
  "can",
  "obd",
  "data",
  "ist",
]);

/** One spelling found in a header. */
export interface WordMatch {
  quantity: QuantityWords;
  /** 0 = first choice among the spellings, 1 = after ">" */
  tier: number;
}

interface Entry {
  quantity: QuantityWords;
  tier: number;
}

const entries = new Map<string, Entry>();
for (const quantity of VOCABULARY) {
  for (const [tier, spellings] of quantity.words.split(">").entries()) {
    for (const spelling of spellings.split("|")) {
      const key = keyOf(tokens(spelling));
      if (!entries.has(key)) entries.set(key, {quantity, tier});
    }
  }
}

/**
 * The quantity that a column's name stands for, by its words alone, or null. The whole name has to be a spelling of
 * the vocabulary; words that add nothing ("GPS", "sensor", "actual") may stand beside it.
 *
 * @param name column name, with or without its unit
 */
export function matchWords(name: string): WordMatch | null {
  const words = tokens(name.replace(/[[({<].*$/, ""));
  return entries.get(keyOf(words)) ?? entries.get(keyOf(words.filter(word => !NEUTRAL.has(word)))) ?? null;
}

/** Quantity by our own word for it ("engine-speed"), or null. */
export function quantityNamed(name: string): QuantityWords | null {
  return VOCABULARY.find(quantity => quantity.name === name) ?? null;
}

/** SI symbol in which a quantity is held, or null for those that are counts or switches. */
export function quantitySymbol(quantity: QuantityWords): string | null {
  return quantity.dimension === "none" ? null : siSymbol(quantity.dimension);
}

/** Words in one order: "Temperature, coolant" is "coolant temperature". */
function keyOf(words: string[]): string {
  return [...words].sort().join(" ");
}

/** Lower-case words of a name: camel case, underscores, points and signs separate. */
function tokens(name: string): string[] {
  return name
    .replace(/([a-z])([A-Z])/g, "$1 $2")
    .replace(/([A-Z]+)([A-Z][a-z])/g, "$1 $2")
    .toLowerCase()
    .split(/[^\p{L}\p{N}]+/u)
    .filter(word => word !== "")
    .map(word => LONG_FORM[word] ?? word);
}

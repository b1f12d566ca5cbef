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
      "time|elapsed time|time elapsed|elapsed|t|zeit|temps|tiempo|log time|session time|run time|time offset|time stamp|timestamp|time rel|relative time|seconds elapsed|seconds|uhrzeit|heure|hora|time since start|time from start|interval|tempo|timer > utc|utc time|gps time|clock|clock time|local time|date time|datetime|unix time|unix timestamp|epoch timestamp|epoch|epoch time|time of day|device time|system time|zeitstempel|timestamp utc|time utc|seconds of day|time of week|tow|itow|i tow|gps tow|gps time of week|posix time|ts|device timestamp|recorded at|created at|date and time",
  },
  {name: "date", dimension: "none", words: "date|utc date|gps date|datum|day"},
  {
    name: "speed",
    dimension: "speed",
    words:
      "gps speed|satellite speed|speed over ground|ground speed|sog|gnss speed|speed gps|velocity gps|velocity over ground|ground velocity|sog speed|speed satellite|speed gnss > speed|velocity|v|car speed|geschwindigkeit|vitesse|velocidad|speed 2d|dyno speed|g speed|roller speed|test speed|speed 3d|velocity 2d|geschw|longitudinal velocity|velocity longitudinal|v long|velocity x|forward speed|forward velocity|trip speed",
  },
  {
    name: "vehicle-speed",
    dimension: "speed",
    words:
      "vehicle speed|vehicle speed sensor|vss|obd speed|speed obd|can speed|road speed|dash speed|speed vehicle|speed vss|speed ecu|ecu speed|speed can|velocity vehicle|vehicle velocity|vfzg|vfzg w|v fzg|fahrzeuggeschwindigkeit|vitesse vehicule|vitesse véhicule|speed sensor|diagnostic speed > wheel speed|driven wheel speed|speedometer|wheel|speed wheel|speed wheels|wheel speed average|wheel speed mean|undriven wheel speed|front wheel speed|rear wheel speed|wheel speed front|wheel speed rear|transmission speed sensor|wheel speed fl|wheel speed fr|wheel speed rl|wheel speed rr|wheel speed front left|wheel speed front right|wheel speed rear left|wheel speed rear right",
  },
  {
    name: "speed-accuracy",
    dimension: "speed",
    words:
      "speed accuracy|velocity accuracy|speed error|s acc|sacc|speed acc|velocity accuracy estimate|speed uncertainty|speed accuracy estimate|speed std|speed sd|velocity std",
  },
  {
    name: "vertical-speed",
    dimension: "speed",
    words:
      "vertical speed|vertical velocity|climb rate|velocity down|vel d|rate of climb|velocity vertical|velocity z",
  },
  {
    name: "height",
    dimension: "length",
    words:
      "height|altitude|elevation|ele|gps altitude|gps height|height msl|altitude msl|hoehe|höhe|height above sea level|elevation above sea level|altitude above sea level|amsl|msl|seehöhe|seehoehe|altitude gps|hmsl|h msl > baro altitude|pressure altitude|ellipsoid height|height ellipsoid|barometric altitude|altitude barometric",
  },
  {
    name: "distance",
    dimension: "length",
    words:
      "distance|gps distance|distance travelled|distance traveled|travelled distance|trip distance|odometer|strecke|weg|dist|total distance|cumulative distance|distance total|distance run|distance covered|mileage|trip|entfernung|kilometerstand",
  },
  {
    name: "latitude",
    dimension: "angle",
    words: "latitude|gps latitude|position latitude|latitude position|breite|breitengrad|geo latitude",
    usual: "deg",
  },
  {
    name: "longitude",
    dimension: "angle",
    words:
      "longitude|gps longitude|position longitude|longitude position|länge|laenge|längengrad|geo longitude",
    usual: "deg",
  },
  {
    name: "course",
    dimension: "angle",
    words:
      "course|heading|course over ground|cog|track|bearing|gps heading|gps course|true course|heading of motion|head mot|course true|track angle|direction|direction of travel|kurs|heading motion|motion heading",
    usual: "deg",
  },
  {
    name: "satellites",
    dimension: "ratio",
    words:
      "satellites|satellites used|number of satellites|gps satellites|satellite count|num satellites|nsat|gps nsat|sats used|satellites in use|satellites in fix|sats in use|used satellites|satelliten|satellites count|number sv|num sv|numsv|svs|satellites number",
    usual: "1",
  },
  {name: "hdop", dimension: "ratio", words: "hdop|horizontal dilution|gps hdop", usual: "1"},
  {
    name: "fix",
    dimension: "ratio",
    words:
      "fix type|fix mode|gps fix type|solution type|gnss fix type|fix dimension|gps fix mode|nav fix type > fix quality|gps quality|gps fix quality|gga quality|quality indicator > fix|gps fix|fix status|fix ok|gps status|position fix|positioning mode|fix valid|gps valid|valid fix",
    usual: "1",
  },
  {
    name: "position-accuracy",
    dimension: "length",
    words:
      "accuracy|position accuracy|horizontal accuracy|h acc|hacc|gps accuracy|pos accuracy|horizontal position accuracy|horizontal accuracy estimate|accuracy horizontal|position error|eph",
  },
  {name: "grade", dimension: "ratio", words: "grade|slope|gradient|road grade|road slope|inclination"},
  {
    name: "acceleration",
    dimension: "acceleration",
    words:
      "longitudinal acceleration|acceleration longitudinal|acceleration|long acceleration|acceleration long|long g|longitudinal g|inline acceleration|acceleration x|x acceleration|g x|a x|ax|gx|vehicle acceleration|acceleration vehicle|accel|longitudinal acc|longacc|gforce x|g force x|acceleration longitudinal g|längsbeschleunigung|laengsbeschleunigung|beschleunigung",
  },
  {
    name: "lateral-acceleration",
    dimension: "acceleration",
    words:
      "lateral acceleration|acceleration lateral|lat acceleration|lateral g|lat g|acceleration y|y acceleration|g y|a y|ay|gy|gforce y|g force y|querbeschleunigung|latacc|acceleration lateral g",
  },
  {
    name: "yaw-rate",
    dimension: "angular rate",
    words:
      "yaw rate|yaw velocity|gyro z|z gyro|gyroscope z|z rate of turn|rate z|gierrate|yawrate|angular velocity z",
  },
  {
    name: "engine-speed",
    dimension: "rotational speed",
    words:
      "engine speed|engine rpm|rpm|motor speed|revs|drehzahl|motordrehzahl|crank speed|engine revs|n engine|tacho|engine rotation speed|engine revolutions|speed engine|rpm engine|motor rpm|rotational speed|nmot|nmot w|n mot|n|régime moteur|regime moteur|crankshaft speed|engine rotational speed|engine speed rpm|revolutions|umdrehungen|engine",
    usual: "r/min",
  },
  {
    name: "throttle",
    dimension: "ratio",
    words:
      "throttle|throttle position|throttle angle|absolute throttle position|throttle valve|tps|throttle plate|throttle opening|relative throttle position|throttle pos|throttle valve position|throttle body position|absolute throttle|relative throttle|wdkba|wdk|throttle plate position|throttle position absolute|throttle position sensor|drosselklappe|drosselklappenwinkel|drosselklappenstellung|commanded throttle actuator|throttle blade|throttle actual|etb position",
  },
  {
    name: "pedal",
    dimension: "ratio",
    words:
      "pedal|accelerator|accelerator pedal|pedal position|accelerator position|accelerator pedal position|gas pedal|pps|app|accelerator pedal position d|driver demand|pedal acceleration|acceleration pedal|pedal acceleration position|acceleration pedal position|wped|wped w|fahrpedal|pedalwert|gaspedal|accelerator pedal value|accelerator pedal position e|relative accelerator pedal position|pedal value|pedal accelerator|accelerator pedal travel|throttle pedal|driver throttle|aps|acceleration position",
  },
  {
    name: "brake",
    dimension: "none",
    words:
      "brake|brake switch|brake pedal|brake light|brake on|brake position|brake active|bremse|brake status|brake state|brake lamp switch|brake light switch|brake pedal switch|brake pedal pressed",
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
    words:
      "gear|gear position|current gear|selected gear|gear number|actual gear|gang|gear engaged|engaged gear|gear selected|gear actual|transmission gear|gear calculated|calculated gear|gangi|ganganzeige|current gear position|gear number actual",
    usual: "1",
  },
  {
    name: "intake-temperature",
    dimension: "temperature",
    words:
      "intake air temperature|intake temperature|iat|inlet air temperature|charge air temperature|intake manifold temperature|inlet temperature|manifold air temperature|air intake temperature|intake charge temperature|charge temperature|inlet temp|act|tans|tans w|ansauglufttemperatur|ladelufttemperatur|temperature intake|air charge temperature|post intercooler temperature|intake manifold air temperature|manifold temperature|mat|temperature air intake",
  },
  {
    name: "coolant-temperature",
    dimension: "temperature",
    words:
      "coolant temperature|engine coolant temperature|coolant|ect|clt|water temperature|cooling water temperature|engine temperature|engine coolant|tmot|tmot w|kühlmitteltemperatur|kuehlmitteltemperatur|motortemperatur|wassertemperatur|temperature water|water temp engine|ect sensor|cts|temperature engine coolant|temperature engine",
  },
  {
    name: "oil-temperature",
    dimension: "temperature",
    words:
      "oil temperature|engine oil temperature|eot|öltemperatur|oeltemperatur|toel|oil temp engine|temperature oil engine",
  },
  {
    name: "air-temperature",
    dimension: "temperature",
    words:
      "ambient temperature|ambient air temperature|outside temperature|outside air temperature|air temperature|oat|aat|ambient|outside temp|außentemperatur|aussentemperatur|lufttemperatur|umgebungstemperatur|exterior temperature|temperature outside|temperature ambient|cell temperature|outdoor temperature|ambient air temp|tumg|cabin outside temperature",
  },
  {
    name: "exhaust-temperature",
    dimension: "temperature",
    words:
      "exhaust temperature|exhaust gas temperature|egt|abgastemperatur|exhaust gas temperature bank|catalyst temperature|exhaust temperature pre turbine",
  },
  {
    name: "manifold-pressure",
    dimension: "pressure",
    words:
      "manifold pressure|intake manifold pressure|manifold absolute pressure|map|intake manifold absolute pressure|intake pressure|absolute manifold pressure|inlet manifold pressure|saugrohrdruck|map sensor|manifold absolute|absolute intake pressure|inlet pressure|pressure manifold|mapa|intake absolute pressure > boost|boost pressure|boost actual|charge pressure|actual boost|ladedruck|pvdks|pvdks w|pvdkds|turbo boost|boost measured|measured boost|turbo pressure|boost press|charge air pressure|boost pressure actual",
  },
  {
    name: "boost-target",
    dimension: "pressure",
    words:
      "boost target|target boost|boost setpoint|requested boost|desired boost|boost request|boost pressure target|boost pressure setpoint|target map|target manifold pressure|commanded boost|boost commanded|boost set|plsol|plsol w|ladedrucksollwert|ladedruck soll|boost pressure requested|boost pressure desired|desired boost pressure|requested boost pressure|boost requested|boost desired|setpoint boost",
  },
  {
    name: "air-pressure",
    dimension: "pressure",
    words:
      "barometric pressure|atmospheric pressure|ambient pressure|baro|air pressure|barometer|absolute barometric pressure|luftdruck|umgebungsdruck|pu|pu w|ambient air pressure|pressure ambient|pressure barometric|bap|barometric",
  },
  {name: "oil-pressure", dimension: "pressure", words: "oil pressure|engine oil pressure|öldruck|oeldruck"},
  {
    name: "fuel-pressure",
    dimension: "pressure",
    words:
      "fuel pressure|fuel rail pressure|rail pressure|fuel rail pressure absolute|high pressure fuel|kraftstoffdruck|raildruck|rail pressure actual",
  },
  {
    name: "spark-advance",
    dimension: "angle",
    words:
      "spark advance|ignition advance|ignition timing|timing advance|ignition angle|ignition|timing|spark angle|spark timing|ign advance|spark|zwout|zündwinkel|zuendwinkel|zw out|ignition timing advance|timing advance cylinder 1|ignition timing angle|spark advance cylinder 1|final timing|ignition advance angle|total timing|ignition timing actual",
    usual: "deg",
  },
  {
    name: "knock-correction",
    dimension: "angle",
    words:
      "knock correction|knock retard|spark correction|ignition correction|knock control|timing correction|timing retard|retard|knock pull|spark retard|dwkr|dwkrz|knock adjustment|knock feedback|knock timing correction|knock retard average|knock learned|feedback knock correction|fine knock learning|zündwinkelrücknahme|timing correction knock|knock ignition retard",
    usual: "deg",
  },
  {
    name: "ignition-cut",
    dimension: "none",
    words: "ignition cut|spark cut|rev limiter|ign cut|rev limit|fuel cut|spark cut active|cut active",
  },
  {
    name: "lambda",
    dimension: "ratio",
    words:
      "lambda|lambda actual|lambda 1|measured lambda|lambda value|wideband lambda|lambda bank 1|lambda measured|o2 lambda|lambda sensor|equivalence ratio lambda|lambda istwert|lamsoni ist",
    usual: "1",
  },
  {
    name: "lambda-target",
    dimension: "ratio",
    words:
      "lambda target|target lambda|lambda setpoint|lamsoni|lamsoni w|commanded lambda|lambda commanded|lambda sollwert|lambda desired|desired lambda|lambda request|commanded equivalence ratio",
    usual: "1",
  },
  {
    name: "air-fuel-ratio",
    dimension: "ratio",
    words:
      "afr|air fuel ratio|air fuel|wideband|wideband afr|afr 1|wideband 1|afr measured|measured afr|air to fuel ratio|wideband o2",
    usual: "1",
  },
  {
    name: "air-mass-flow",
    dimension: "mass flow",
    words:
      "maf|mass air flow|air mass flow|air mass|mass airflow|airflow|mass air flow rate|air flow rate|air flow|maf rate|mlhfm|mshfm w|air flow rate from mass flow sensor|luftmasse|intake air flow|mass flow|maf sensor rate|mass air flow sensor rate|intake mass flow",
  },
  {
    name: "engine-load",
    dimension: "ratio",
    words:
      "engine load|load|calculated load|calculated engine load|relative load|absolute load|engine load value|calculated engine load value|calculated load value|eload|rl|rl w|absolute load value|motorlast|load value|engine load calculated|engine load absolute",
  },
  {
    name: "fuel-trim-short",
    dimension: "ratio",
    words:
      "short term fuel trim|stft|short fuel trim|short term fuel trim bank|short term fuel trim bank 1|stft 1|stft bank 1|stft b 1|short term fuel trim 1|short fuel trim bank 1",
  },
  {
    name: "fuel-trim-long",
    dimension: "ratio",
    words:
      "long term fuel trim|ltft|long fuel trim|long term fuel trim bank 1|ltft 1|ltft bank 1|ltft b 1|long term fuel trim bank|long term fuel trim 1",
  },
  {name: "injector-duty", dimension: "ratio", words: "injector duty|injector duty cycle|injection duty"},
  {
    name: "torque",
    dimension: "torque",
    words:
      "torque|engine torque|motor torque|actual torque|drehmoment|motormoment|engine torque actual|torque engine|motor torque actual|wheel torque|shaft torque",
  },
  {
    name: "power",
    dimension: "power",
    words: "power|engine power|motor power|wheel power|leistung|motorleistung|power engine",
  },
  {
    name: "steering",
    dimension: "angle",
    words:
      "steering angle|steerangle|steering|steering wheel angle|steering angle sensor|steer angle|lenkwinkel|steering position",
  },
  {
    name: "battery-voltage",
    dimension: "voltage",
    words:
      "battery voltage|battery|voltage|supply voltage|control module voltage|module voltage|system voltage|battery volt|batteriespannung|spannung|ecu voltage|bordspannung|ubat|vbat|hv battery voltage|control unit voltage",
  },
  {name: "lap", dimension: "none", words: "lap|lap number|lap count|session lap|lap no"},
];

/** Quantity by our own word for it ("engine-speed"), or null. */
export function quantityNamed(name: string): QuantityWords | null {
  return VOCABULARY.find(quantity => quantity.name === name) ?? null;
}

/** SI symbol in which a quantity is held, or null for those that are counts or switches. */
export function quantitySymbol(quantity: QuantityWords): string | null {
  return quantity.dimension === "none" ? null : siSymbol(quantity.dimension);
}

import {type QuantityWords, VOCABULARY} from "./vocabulary.ts";

/** One quantity found in a header. */
export interface WordMatch {
  quantity: QuantityWords;
  /** 0 = first choice among the spellings, 1 = after ">"; more where words had to be left out or put right */
  tier: number;
  /** false where words had to be left out or put right */
  exact: boolean;
}

/** Words that logs shorten or write in another form. */
const LONG_FORM = new Map(
  Object.entries({
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
    posn: "position",
    press: "pressure",
    pres: "pressure",
    thr: "throttle",
    throt: "throttle",
    accelerometer: "acceleration",
    gnss: "gps",
    no: "number",
    num: "number",
    amb: "ambient",
    ign: "ignition",
    adv: "advance",
    volt: "voltage",
    batt: "battery",
    ped: "pedal",
    pdl: "pedal",
    trq: "torque",
    tgt: "target",
    cool: "coolant",
    clnt: "coolant",
    whl: "wheel",
    ws: "wheel speed",
    utctime: "utc time",
  }),
);

/** Words that add nothing to a name; among them names of control units and of ways to them. */
const NEUTRAL = new Set(
  "the of from to sensor actual current value measured signal channel gps ecu can obd obd2 obdii data ist raw data calibrated abs esp esc ecm pcm tcm tcu dme ems sae pid".split(
    " ",
  ),
);

/** Shorter words are not put right: too many others are one slip away. */
const LEAST_LETTERS = 5;
/** A letter exchanged for another makes new words out of shorter ones ("charge", "change"). */
const LEAST_LETTERS_EXCHANGED = 7;
/** Tier of a match for which a leading part of the name was left out, or a word put right. */
const LOOSE_TIER = 2;

const entries = new Map<string, {quantity: QuantityWords; tier: number}>();
const knownTokens = new Set<string>();
for (const quantity of VOCABULARY) {
  for (const [tier, spellings] of quantity.words.split(">").entries()) {
    for (const spelling of spellings.split("|")) {
      const words = tokens(spelling);
      const key = keyOf(words);
      for (const word of words) knownTokens.add(word);
      if (!entries.has(key)) entries.set(key, {quantity, tier});
    }
  }
}

/**
 * The quantity that a column's name stands for, by its words alone, or null. The whole name has to be a spelling of
 * the vocabulary. Words that add nothing ("GPS", "sensor", "actual") may stand beside it, and what stands in brackets may be
 * part of it or not. Where that finds nothing, slips of the pen are put right and the parts of a path ("ABS_01.VehSpd",
 * "/engine/speed") left out from the front; such a match gives way to every exact one.
 *
 * @param name column name, with or without its unit
 */
export function matchWords(name: string): WordMatch | null {
  const bare = name.replace(/[[({<].*$/, "");
  return matchText(name) ?? (bare === name ? null : matchText(bare));
}

function matchText(text: string): WordMatch | null {
  const words = tokens(text);
  const found = entryOf(words);
  if (found) return {...found, exact: true};
  const loose = (entry: {quantity: QuantityWords; tier: number}): WordMatch => ({
    quantity: entry.quantity,
    tier: entry.tier + LOOSE_TIER,
    exact: false,
  });
  const mended = words.map(putRight);
  const right = mended.some((word, i) => word !== words[i]) ? entryOf(mended) : null;
  if (right) return loose(right);
  const parts = text.split(/[./\\:]+/).filter(part => part.trim() !== "");
  for (let k = 1; k < parts.length; k++) {
    const entry = entryOf(tokens(parts.slice(k).join(" ")));
    if (entry) return loose(bySatellite(words, entry));
  }
  return null;
}

function entryOf(words: string[]): {quantity: QuantityWords; tier: number} | null {
  if (words.length === 0) return null;
  const whole = entries.get(keyOf(words));
  if (whole) return whole;
  const telling = words.filter(word => !NEUTRAL.has(word));
  const found = telling.length === words.length ? undefined : entries.get(keyOf(telling));
  return found ? bySatellite(words, found) : null;
}

/** "Vehicle speed (GPS)" is a satellite speed, though "GPS" adds nothing to other names. */
function bySatellite(
  words: string[],
  found: {quantity: QuantityWords; tier: number},
): {quantity: QuantityWords; tier: number} {
  if (found.quantity.name !== "vehicle-speed" || !words.includes("gps")) return found;
  return entries.get(keyOf(["gps", "speed"])) ?? found;
}

/** A known word that this one is a slip away from (one letter more, fewer or other, or two exchanged), or the word itself. */
function putRight(word: string): string {
  if (word.length < LEAST_LETTERS || knownTokens.has(word) || NEUTRAL.has(word)) return word;
  let right = word;
  for (const known of knownTokens) {
    if (known.length < LEAST_LETTERS || known[0] !== word[0] || !oneSlip(word, known)) continue;
    if (right !== word) return word; // two words are as near
    right = known;
  }
  return right;
}

function oneSlip(a: string, b: string): boolean {
  if (Math.abs(a.length - b.length) > 1) return false;
  let i = 0;
  while (i < a.length && a[i] === b[i]) i++;
  if (a.length !== b.length)
    return a.length > b.length ? a.slice(i + 1) === b.slice(i) : a.slice(i) === b.slice(i + 1);
  if (a[i] === b[i + 1] && a[i + 1] === b[i] && a.slice(i + 2) === b.slice(i + 2)) return true;
  return a.length >= LEAST_LETTERS_EXCHANGED && a.slice(i + 1) === b.slice(i + 1);
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
    .flatMap(word => (LONG_FORM.get(word) ?? word).split(" "));
}

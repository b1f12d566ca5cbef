import type {Guess} from "../result/log.ts";
import type {UnitRow} from "../units/table.ts";
import {findUnit} from "../units/unit.ts";
import {matchWords} from "./name-words.ts";
import {remembered} from "./remembered.ts";
import {type QuantityWords, quantityNamed} from "./vocabulary.ts";

/** What a column's header and unit say together. */
export interface ColumnMeaning {
  quantity: QuantityWords | null;
  /** preference among columns of the same quantity, 0 first */
  tier: number;
  /** unit as written, or null where none is written */
  unitText: string | null;
  unit: UnitRow | null;
  confidence: Guess["confidence"];
}

/**
 * Meaning of a column by its words and its unit together: the words name a quantity, and a unit of another dimension
 * takes it away again ("MAP [V]" is no pressure).
 *
 * @param header    name as written
 * @param otherUnit unit that stands elsewhere (a line of its own, in each cell), or null
 */
export function columnMeaning(header: string, otherUnit: string | null): ColumnMeaning {
  return meaningOf(JSON.stringify([header, otherUnit]));
}

const meaningOf = remembered(text => {
  const [header, otherUnit] = JSON.parse(text) as Parameters<typeof columnMeaning>;
  return findMeaning(header, otherUnit);
});

function findMeaning(header: string, otherUnit: string | null): ColumnMeaning {
  const {name, unitText: ownUnit} = splitNameUnit(header);
  const unitText = otherUnit ?? ownUnit;
  const unit = unitText === null ? null : findUnit(unitText);
  const match = matchWords(name) ?? matchWords(header);
  if (match) {
    const {dimension, usual} = match.quantity;
    const agrees = unit === null || dimension === "none" || unit.dimension === dimension;
    const lone = name.trim().length === 1 && unit === null; // a single letter needs its unit beside it
    if (agrees && !lone) {
      const sure = unit !== null || usual !== undefined || dimension === "none";
      const {quantity, tier} = match;
      return {quantity, tier, unitText, unit, confidence: sure && match.exact ? "sure" : "likely"};
    }
  } else if (unit?.dimension === "speed" && name.trim() === "") {
    return {quantity: quantityNamed("speed"), tier: 2, unitText, unit, confidence: "weak"}; // the header is "km/h"
  }
  return {quantity: null, tier: 0, unitText, unit, confidence: "weak"};
}

const GROUP = /[[({<]([^[\](){}<>]*(?:\([^()]*\)[^[\](){}<>]*)?)[\])}>]?/g;

/**
 * Takes a header apart into name and unit: "Speed [km/h]", "Speed (GPS) (km/h]", "speed_kmh", "Speed km/h".
 * Without brackets the last word is a unit only where the words before it name a quantity of that dimension.
 */
export function splitNameUnit(header: string): {name: string; unitText: string | null} {
  const groups = [...header.matchAll(GROUP)].reverse();
  const group =
    groups.find(([, inner]) => inner.trim() !== "" && findUnit(inner) !== null) ??
    groups.find(([whole, inner]) => whole.startsWith("[") && inner.trim() !== "");
  if (group) {
    const name = `${header.slice(0, group.index)} ${header.slice(group.index + group[0].length)}`;
    return {name: name.replace(/\s+/g, " ").trim(), unitText: group[1].trim()};
  }
  const [before, behind] = header.split("|"); // "Speed|km/h|0|200"
  if (behind !== undefined && findUnit(behind) !== null)
    return {name: before.trim(), unitText: behind.trim()};
  if (!matchWords(header)?.exact || /[%°]\s*$/.test(header)) {
    if (isWholeUnit(header)) return {name: "", unitText: header};
    // as written first: "MAP_kPa" has its unit whole, "groundSpeedMps" in camel case
    const found = unitBehind(header) ?? unitBehind(header.replace(/([a-z])([A-Z])/g, "$1 $2"));
    if (found) return found;
  }
  return {name: header, unitText: null};
}

/** True where a header that is nothing but a unit leaves one quantity: "km/h", "ms". */
function isWholeUnit(header: string): boolean {
  const unit = findUnit(header);
  return unit?.dimension === "speed" || ["s", "ms", "us", "ns"].includes(unit?.symbol ?? "");
}

/** Name and unit of a header whose last one or two words are a unit, of the dimension that the words before it ask for. */
function unitBehind(header: string): {name: string; unitText: string} | null {
  const words = header.split(/[\s_,:;.|-]+/).filter(word => word !== "");
  for (const count of [1, 2]) {
    const name = words.slice(0, -count).join(" ");
    const last = words.slice(-count);
    for (const unitText of [last.join("/"), last.join(" ")]) {
      const unit = findUnit(unitText);
      const quantity = unit && name !== "" ? matchWords(name)?.quantity : undefined;
      const plain = name !== "" && /[/°%]/.test(unitText) && count === 1;
      if (unit && (quantity?.dimension === unit.dimension || plain)) return {name, unitText};
    }
  }
  return null;
}

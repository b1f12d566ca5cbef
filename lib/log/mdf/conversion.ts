import {damaged} from "../damaged.ts";
import type {Block, Blocks} from "./block.ts";
import {linksOf} from "./groups.ts";
import {nearestOf, type RangeOf, rangesOf, straightBetween} from "./lookup.ts";

/** What a conversion makes of a raw number: a number, a text, or nothing. */
export type Converted = number | string | null;

/** A conversion rule (CC block) ready for use. */
export interface Conversion {
  /** unit of the numbers it makes, that of an inner rule included, or null */
  unit: string | null;
  /** "number": never a text; "text": never a number; "both": numbers, and texts in place of some */
  makes: "number" | "text" | "both";
  convert(raw: number): Converted;
  /** offset and factor where the rule is a straight line, so that whole numbers beyond 2⁵³ stay exact */
  line: {offset: number; factor: number} | null;
}

/** A conversion that cannot be used, and why. */
export interface NoConversion {
  reason: string;
}

/** Rules inside rules; more are made by a circle of links only. */
const DEEPEST = 8;
const NAMES: Record<number, string> = {
  3: "is a formula, which is not computed",
  9: "turns texts into numbers, which is not read",
  10: "turns texts into other texts, which is not read",
  11: "takes numbers apart into bits with texts, which is not read",
};

const SAME: Conversion = {unit: null, makes: "number", convert: raw => raw, line: {offset: 0, factor: 1}};

/**
 * Finds the conversion rule at a place of the file.
 *
 * @param at    place of its CC block; 0 = raw values are values
 * @param whole true where raw values are whole numbers: ranges then include their upper end
 */
export type FindConversion = (at: number, whole: boolean) => Conversion | NoConversion;

/** Conversion rules of a file, each read once however many channels and rules share it. */
export function openConversions(blocks: Blocks): FindConversion {
  const known = new Map<string, Conversion | NoConversion>();
  const find = (at: number, whole: boolean, depth: number): Conversion | NoConversion => {
    if (at === 0) return SAME;
    if (depth > DEEPEST) {
      throw damaged(
        blocks.source.file,
        `the conversion at byte ${at} has too many others inside it, or itself`,
      );
    }
    const key = `${at} ${whole}`;
    const found = known.get(key) ?? readConversion(blocks, at, whole, inner => find(inner, whole, depth + 1));
    known.set(key, found);
    return found;
  };
  return (at, whole) => find(at, whole, 0);
}

function readConversion(
  blocks: Blocks,
  at: number,
  whole: boolean,
  findInner: (at: number) => Conversion | NoConversion,
): Conversion | NoConversion {
  const block = blocks.open(at, ["CC"]);
  const [, unitAt] = linksOf(blocks, block, 4);
  const view = blocks.body(block, 24);
  const type = view.getUint8(0);
  const references = block.links.slice(4, 4 + view.getUint16(4, true));
  const values = readValues(blocks, block, view);
  const unit = blocks.text(unitAt);
  const numbers = (convert: (raw: number) => number, line: Conversion["line"] = null): Conversion => ({
    unit,
    makes: "number",
    convert,
    line,
  });
  switch (type) {
    case 0:
      return {...SAME, unit};
    case 1: {
      const [offset, factor] = atLeast(blocks, block, values, 2);
      return numbers(raw => offset + factor * raw, {offset, factor});
    }
    case 2: {
      const [a, b, c, d, e, f] = atLeast(blocks, block, values, 6);
      return numbers(x => (a * x * x + b * x + c) / (d * x * x + e * x + f));
    }
    case 4:
    case 5: {
      const {keys, results} = pairsOf(atLeast(blocks, block, values, 2));
      if (keys.some((key, i) => i > 0 && !(key > keys[i - 1])))
        return {reason: "the keys of its table do not ascend"};
      return numbers(type === 4 ? straightBetween(keys, results) : nearestOf(keys, results));
    }
    case 6: {
      const count = Math.floor(values.length / 3);
      const find = rangesOf(values, 3, count, whole);
      if (find === null) return {reason: "the ranges of its table overlap"};
      const otherwise = values.length > 3 * count ? values[3 * count] : Number.NaN;
      return numbers(raw => {
        const i = find(raw);
        return i < 0 ? otherwise : values[3 * i + 2];
      });
    }
    case 7: {
      const indices = new Map(values.map((key, i) => [key, i]));
      return textTable(blocks, unit, references, values.length, raw => indices.get(raw) ?? -1, findInner);
    }
    case 8: {
      const count = Math.floor(values.length / 2);
      const find = rangesOf(values, 2, count, whole);
      if (find === null) return {reason: "the ranges of its table overlap"};
      return textTable(blocks, unit, references, count, find, findInner);
    }
    default:
      return {reason: `its conversion ${NAMES[type] ?? `is of the unknown type ${type}`}`};
  }
}

/**
 * Table of texts, some of which may be rules of their own: a status text for some raw values and a straight line for
 * all others. The last reference, behind those of the keys, is for every other value.
 */
function textTable(
  blocks: Blocks,
  ownUnit: string | null,
  references: number[],
  count: number,
  find: RangeOf,
  findInner: (at: number) => Conversion | NoConversion,
): Conversion | NoConversion {
  const entries: (string | Conversion | null)[] = [];
  for (const at of references.slice(0, count + 1)) {
    if (at === 0) entries.push(null);
    else if (blocks.open(at, ["TX", "CC"]).id === "TX") entries.push(blocks.text(at) ?? "");
    else {
      const rule = findInner(at);
      if ("reason" in rule) return rule;
      entries.push(rule);
    }
  }
  const rules = entries.filter((entry): entry is Conversion => typeof entry === "object" && entry !== null);
  const texts =
    entries.some(entry => typeof entry === "string") || rules.some(rule => rule.makes !== "number");
  const makesNumbers = rules.some(rule => rule.makes !== "text");
  return {
    unit: ownUnit ?? rules.find(rule => rule.unit !== null)?.unit ?? null,
    makes: makesNumbers ? (texts ? "both" : "number") : "text",
    convert(raw) {
      const i = find(raw);
      const entry = entries[i < 0 ? count : i] ?? null;
      return entry === null || typeof entry === "string" ? entry : entry.convert(raw);
    },
    line: null,
  };
}

function readValues(blocks: Blocks, block: Block, view: DataView): number[] {
  const count = view.getUint16(6, true);
  if (24 + 8 * count > view.byteLength) {
    throw damaged(blocks.source.file, `the conversion at byte ${block.at} has fewer values than it says`);
  }
  return Array.from({length: count}, (_, i) => view.getFloat64(24 + 8 * i, true));
}

function atLeast(blocks: Blocks, block: Block, values: number[], least: number): number[] {
  if (values.length >= least) return values;
  throw damaged(
    blocks.source.file,
    `the conversion at byte ${block.at} has ${values.length} values, ${least} are needed`,
  );
}

function pairsOf(values: number[]): {keys: number[]; results: number[]} {
  const count = Math.floor(values.length / 2);
  const every = (start: number) => Array.from({length: count}, (_, i) => values[2 * i + start]);
  return {keys: every(0), results: every(1)};
}

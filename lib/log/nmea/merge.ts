import type {Tally} from "../tally.ts";
import {angleField, clockField, dateField, dateFields, type FieldValue, numberField} from "./fields.ts";
import type {Sentence} from "./sentence.ts";

/** What the sentences tell, one list of cells each. */
export const CELLS = [
  "RMC speed",
  "RMC course",
  "VTG speed",
  "VTG course",
  "latitude",
  "longitude",
  "height",
  "satellites",
  "hdop",
  "fix quality",
] as const;
export type Cell = (typeof CELLS)[number];

/** Sentences merged on time: one row for every different time. */
export interface MergedRows {
  /** seconds since midnight of the first row's day */
  timeS: number[];
  /** days from 1970-01-01 to that day, or null where no sentence tells a date */
  firstDay: number | null;
  /** line of the first sentence of a row */
  lines: number[];
  /** one a row, NaN where no sentence told it at that time; RMC speed in kn, VTG speed in km/h, angles in degrees */
  cells: Record<Cell, number[]>;
  /** sentences taken that carry no checksum, and the line of the first one */
  unchecked: {count: number; firstLine: number};
}

const DAY_S = 86_400;
const KMH_PER_KNOT = 1.852; // 1852 m an hour, by definition
/** Civil receivers stop above this speed by export rules [kn]. */
const TOP_SPEED_KN = 1000;
/** Heights on Earth, with room for bad fixes, which are data [m]. */
const HEIGHTS_M: [number, number] = [-12_000, 100_000];
/** Sentences of an earlier time that come late are still put into their row so many rows back. */
const LATE_ROWS = 20;
/** A sentence from before midnight that comes after one from behind it is at most so late [s]. */
const LATE_S = 10;
const USED = new Set(["RMC", "GGA", "VTG", "ZDA"]);
const BIT: Record<string, number> = {RMC: 1, GGA: 2, VTG: 4};
const NOT_FIXED = "no fix (status V or quality 0): position and speed are not used";

/**
 * Merges RMC, GGA and VTG on the time of day they carry; RMC and ZDA tell the date, which holds on for the sentences without
 * one, over midnight too, and is taken back to those before it.
 *
 * Rows start with the first fix: before it receivers tell no dependable time. A void sentence later on keeps its row, with
 * empty cells. VTG carries no time and belongs to the sentence before it. A second sentence of one type at the same time
 * gets a row of its own, with the same time. Everything not used is counted.
 */
export function mergeSentences(sentences: Iterable<Sentence>, tally: Tally): MergedRows {
  const cells = Object.fromEntries(CELLS.map(name => [name, [] as number[]])) as Record<Cell, number[]>;
  const merged: MergedRows = {
    timeS: [],
    firstDay: null,
    lines: [],
    cells,
    unchecked: {count: 0, firstLine: 0},
  };
  const {timeS, lines} = merged;
  /** types of sentence that a row has, a sum of `BIT` */
  const has: number[] = [];
  let fixed = false;
  /** days since the first row's, and time of day of the sentence before */
  let day = 0;
  let lastClockS = Number.NaN;
  /** row of the sentence before */
  let current = -1;

  function timeOf(clockS: number, date: number): number {
    const beforeMidnight = clockS - lastClockS > DAY_S - LATE_S;
    const relative = clockS < lastClockS - DAY_S / 2 ? day + 1 : beforeMidnight ? day - 1 : day;
    if (beforeMidnight && Number.isNaN(date)) return relative * DAY_S + clockS; // a late one; it moves nothing on
    lastClockS = clockS;
    day = relative;
    if (!Number.isNaN(date)) {
      merged.firstDay ??= date - day;
      day = date - merged.firstDay;
    }
    return day * DAY_S + clockS;
  }

  /** First row of this time that has no sentence of the type yet, else a new one. */
  function enter(time: number, type: string, line: number): void {
    const last = timeS.length - 1;
    current = last + 1;
    for (let row = last; row >= Math.max(0, last - LATE_ROWS) && time <= timeS[last]; row--) {
      if (timeS[row] === time && !(has[row] & BIT[type])) current = row;
    }
    if (current > last) {
      timeS.push(time);
      lines.push(line);
      has.push(0);
      for (const name of CELLS) cells[name].push(Number.NaN);
    }
    has[current] |= BIT[type];
  }

  for (const sentence of sentences) {
    const {type, fields, line} = sentence;
    if (!USED.has(type)) {
      tally.add(`${type} sentence, not used`, line);
      continue;
    }
    if (!sentence.checked && merged.unchecked.count++ === 0) merged.unchecked.firstLine = line;
    const value = (what: string, found: FieldValue): number => {
      if (found === null) tally.add(`impossible ${what} in ${type}`, line);
      return found ?? Number.NaN;
    };
    const set = (name: Cell, found: number) => {
      if (!Number.isNaN(found) && Number.isNaN(cells[name][current])) cells[name][current] = found;
    };
    const position = (from: number) => {
      const latitude = value("latitude", angleField(fields[from], fields[from + 1], "latitude"));
      const longitude = value("longitude", angleField(fields[from + 2], fields[from + 3], "longitude"));
      if (Number.isNaN(latitude + longitude)) return;
      set("latitude", latitude);
      set("longitude", longitude);
    };
    if (type === "VTG") {
      if (current < 0) tally.add("VTG before the first sentence with time and fix", line);
      else if (fields[9] === "N") tally.add(NOT_FIXED, line);
      else {
        if (has[current] & BIT.VTG) enter(timeS[current], type, line);
        has[current] |= BIT.VTG;
        const knots =
          fields[6] === "N" ? value("speed", numberField(fields[5], 0, TOP_SPEED_KN)) : Number.NaN;
        const limit = TOP_SPEED_KN * KMH_PER_KNOT;
        const kmh = fields[8] === "K" ? value("speed", numberField(fields[7], 0, limit)) : Number.NaN;
        set("VTG speed", Number.isNaN(kmh) ? knots * KMH_PER_KNOT : kmh);
        if (fields[2] === "T") set("VTG course", value("course", numberField(fields[1], 0, 360)));
      }
      continue;
    }
    const clockS = value("time", clockField(fields[1]));
    const quality = type === "GGA" ? value("fix quality", numberField(fields[6], 0, 9)) : Number.NaN;
    const valid = type === "RMC" ? fields[2] === "A" : quality > 0;
    if (type !== "ZDA" && !valid) tally.add(NOT_FIXED, line);
    else if (!fields[1]) tally.add(`${type} without time`, line);
    if (Number.isNaN(clockS)) continue;
    fixed ||= valid;
    if (!fixed) continue;
    if (type === "ZDA") {
      timeOf(clockS, value("date", dateFields(fields[2], fields[3], fields[4])));
    } else if (type === "RMC") {
      enter(timeOf(clockS, valid ? value("date", dateField(fields[9])) : Number.NaN), type, line);
      if (!valid) continue;
      position(3);
      set("RMC speed", value("speed", numberField(fields[7], 0, TOP_SPEED_KN)));
      set("RMC course", value("course", numberField(fields[8], 0, 360)));
    } else {
      enter(timeOf(clockS, Number.NaN), type, line);
      set("fix quality", quality);
      set("satellites", value("satellites", numberField(fields[7], 0, 999)));
      set("hdop", value("hdop", numberField(fields[8], 0, 1000)));
      if (!valid) continue;
      position(2);
      set("height", value("height", numberField(fields[9], ...HEIGHTS_M)));
    }
  }
  return merged;
}

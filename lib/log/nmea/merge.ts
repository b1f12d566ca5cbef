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
const NOT_FIXED = "no fix (status V or quality 0): position and speed are not used";

/**
 * Merges RMC, GGA and VTG on the time of day they carry; RMC and ZDA tell the date, which holds on for the sentences without
 * one, over midnight too, and is taken back to those before it.
 *
 * Rows start with the first fix: before it receivers tell no dependable time. A void sentence later on keeps its row, with
 * empty cells. VTG carries no time and belongs to the sentence before it. The first sentence of a type at one time holds.
 * Everything not used is counted.
 */
export function mergeSentences(sentences: Iterable<Sentence>, tally: Tally): MergedRows {
  const cells = Object.fromEntries(CELLS.map(name => [name, [] as number[]])) as Record<Cell, number[]>;
  const merged: MergedRows = {timeS: [], firstDay: null, lines: [], cells, unchecked: {count: 0, firstLine: 0}};
  const {timeS, lines} = merged;
  /** types of sentence that a row has, as text */
  const has: string[] = [];
  let fixed = false;
  /** days since the first row's, and time of day of the sentence before */
  let day = 0;
  let lastClockS = Number.NaN;
  /** row of the sentence before */
  let current = -1;

  function timeOf(clockS: number, date: number): number {
    if (clockS < lastClockS - DAY_S / 2) day++;
    else if (clockS > lastClockS + DAY_S / 2 && Number.isNaN(date)) return (day - 1) * DAY_S + clockS; // a late one from before midnight
    lastClockS = clockS;
    if (!Number.isNaN(date)) {
      merged.firstDay ??= date - day;
      day = date - merged.firstDay;
    }
    return day * DAY_S + clockS;
  }

  function rowAt(time: number, line: number): number {
    const last = timeS.length - 1;
    for (let row = last; row >= Math.max(0, last - LATE_ROWS) && !(time > timeS[last]); row--) {
      if (timeS[row] === time) return row;
    }
    timeS.push(time);
    lines.push(line);
    has.push("");
    for (const name of CELLS) cells[name].push(Number.NaN);
    return last + 1;
  }

  for (const sentence of sentences) {
    const {type, fields, line} = sentence;
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
    /** Goes to the sentence's row; false where it has none of its own. */
    const enter = (time: number): boolean => {
      current = rowAt(time, line);
      if (has[current].includes(type)) {
        tally.add(`second ${type} at the same time`, line);
        return false;
      }
      has[current] += type;
      return true;
    };

    if (type === "VTG") {
      if (current < 0) tally.add("VTG before the first sentence with time and fix", line);
      else if (fields[9] === "N") tally.add(NOT_FIXED, line);
      else if (enter(timeS[current])) {
        const knots = fields[6] === "N" ? value("speed", numberField(fields[5], 0, TOP_SPEED_KN)) : Number.NaN;
        const limit = TOP_SPEED_KN * KMH_PER_KNOT;
        const kmh = fields[8] === "K" ? value("speed", numberField(fields[7], 0, limit)) : Number.NaN;
        set("VTG speed", Number.isNaN(kmh) ? knots * KMH_PER_KNOT : kmh);
        if (fields[2] === "T") set("VTG course", value("course", numberField(fields[1], 0, 360)));
      }
    } else if (type === "RMC" || type === "GGA" || type === "ZDA") {
      const clockS = value("time", clockField(fields[1]));
      const quality = type === "GGA" ? value("fix quality", numberField(fields[6], 0, 9)) : Number.NaN;
      const valid = type === "RMC" ? fields[2] === "A" : quality > 0;
      if (type !== "ZDA" && !valid) tally.add(NOT_FIXED, line);
      if (Number.isNaN(clockS)) {
        if (fields[1] === "" && (valid || type === "ZDA")) tally.add(`${type} without time`, line);
        continue;
      }
      fixed ||= valid;
      if (!fixed) continue;
      if (type === "ZDA") {
        timeOf(clockS, value("date", dateFields(fields[2], fields[3], fields[4])));
      } else if (type === "RMC") {
        const date = valid ? value("date", dateField(fields[9])) : Number.NaN;
        if (!enter(timeOf(clockS, date)) || !valid) continue;
        position(3);
        set("RMC speed", value("speed", numberField(fields[7], 0, TOP_SPEED_KN)));
        set("RMC course", value("course", numberField(fields[8], 0, 360)));
      } else {
        if (!enter(timeOf(clockS, Number.NaN))) continue;
        set("fix quality", quality);
        set("satellites", value("satellites", numberField(fields[7], 0, 999)));
        set("hdop", value("hdop", numberField(fields[8], 0, 1000)));
        if (!valid) continue;
        position(2);
        set("height", value("height", numberField(fields[9], ...HEIGHTS_M)));
      }
    } else {
      tally.add(`${type} sentence, not used`, line);
      continue;
    }
    if (!sentence.checked && merged.unchecked.count++ === 0) merged.unchecked.firstLine = line;
  }
  return merged;
}

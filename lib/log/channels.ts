import type {Channel, Guess, Unread} from "../result/log.ts";
import type {UnitRow} from "../units/table.ts";
import {siSymbol, toSI} from "../units/unit.ts";
import {allOnesWords, dropAllOnes} from "./all-ones.ts";
import {type ColumnMeaning, columnMeaning} from "./column-name.ts";
import {type ColumnRange, columnRanges, valueIn} from "./column-ranges.ts";
import type {DeclaredColumn} from "./declared.ts";
import {onFixScale} from "./fix-scale.ts";
import {isMissingCode, LEAST_CODE, missingCodeWords} from "./missing-codes.ts";
import type {RawColumn, RawTable} from "./reader.ts";
import {createTally} from "./tally.ts";
import type {TimeBase} from "./time-base.ts";
import {settleSpeedUnits} from "./unit-by-positions.ts";
import {type QuantityWords, quantityNamed, quantitySymbol} from "./vocabulary.ts";

/** Two columns may be one value rounded differently; in fewer rows than this the rounding cannot be told from the course. */
const RESOLUTION_ROWS = 50;
/** Conversions of one value by two units agree to this part. */
const CONVERSION = 1e-9;

interface Named {
  column: RawColumn;
  meaning: ColumnMeaning;
  declaredUnit: UnitRow | null;
  name: string;
}

/**
 * Columns as channels: named by the field's word where that is known, in SI where the unit is, restricted to the rows
 * kept. Two columns that are equally likely the same quantity both carry its name; whoever needs the quantity has to
 * ask for one of them (`requireChannel`).
 *
 * @returns also what makes a channel's value [SI] from that of a column, NaN where it stands for none
 */
export function toChannels(
  table: RawTable,
  time: TimeBase,
  declared: Map<string, DeclaredColumn>,
): {
  channels: Channel[];
  guesses: Guess[];
  unread: Unread;
  siOf: (column: RawColumn) => (raw: number) => number;
} {
  const named = nameColumns(table, time, declared);
  const unread: Unread = {rows: [], columns: []};
  const heads = named.map(entry => channelHead(entry, table, time));
  const tell = new Map(
    named.map((entry, i) => [entry.column, {unit: unitOf(entry), wordsOf: allOnesWords(heads[i])}]),
  );
  const ranges = columnRanges(table, column => tell.get(column)!, time.rows, time.columns[0]);
  const channels = named.map((entry, i) => {
    const left = ranges.get(entry.column);
    return left ? toRange(heads[i], entry, left, unread) : toChannel(heads[i], entry, table, time, unread);
  });
  const guesses: Guess[] = [];
  for (const [i, channel] of channels.entries()) {
    const left = ranges.get(named[i].column);
    const lineOf = (sample: number) => table.lineOf(time.kept ? time.kept[sample] : sample);
    unread.rows.push(...(left ? left.allOnes : dropAllOnes(channel, lineOf)));
  }
  for (const [i, channel] of channels.entries())
    if (channel.name === "fix" && channel.range === undefined)
      guesses.push(...toFixScale(channel, named[i].column, time));
  const held = channels.filter(({range}) => range === undefined);
  guesses.push(...settleSpeedUnits(time.timeS, held));
  keepFirstOfEqual(channels, named, guesses);
  for (const name of new Set(channels.map(channel => channel.name))) {
    if (name === "time" || declared.has(name) || quantityNamed(name) === null) continue;
    const columns = channels.flatMap((channel, i) => (channel.name === name ? [{channel, ...named[i]}] : []));
    const chosen = columns.map(({channel}) => `"${channel.column}"`).join(" or ");
    const settled = columns.length === 1;
    guesses.push({
      what: name,
      chosen: settled ? chosen : `not settled: ${chosen}`,
      confidence: settled ? columns[0].meaning.confidence : "weak",
    });
  }
  guesses.push(...speedFromVehicle(channels));
  return {channels, guesses, unread, siOf: column => valueIn(column, tell.get(column)!)};
}

function nameColumns(table: RawTable, time: TimeBase, declared: Map<string, DeclaredColumn>): Named[] {
  const byColumn = new Map([...declared].map(([name, {column, unit}]) => [column, {name, unit}]));
  const named = table.columns.map((column): Named => {
    const meaning = sourcedMeaning(column);
    const own = byColumn.get(column);
    const guessed = meaning.quantity?.name ?? ownName(column);
    // Several columns may tell the time; the one that was chosen is the channel "time".
    const name = column === time.columns[0] ? "time" : guessed === "time" ? ownName(column) : guessed;
    return {column, meaning, declaredUnit: own?.unit ?? null, name: own?.name ?? name};
  });
  const tierOf = ({column, meaning}: Named) => (byColumn.has(column) ? -1 : meaning.tier);
  const best = new Map<string, number>();
  for (const entry of named) best.set(entry.name, Math.min(best.get(entry.name) ?? 9, tierOf(entry)));
  for (const entry of named) {
    if (entry.name !== "time" && tierOf(entry) > best.get(entry.name)!) entry.name = ownName(entry.column);
  }
  return named;
}

/** Name of a column that stands for no quantity: its header, unless that is our word for one. */
function ownName({header, number}: RawColumn): string {
  return quantityNamed(header) === null ? header : `${header} (column ${number})`;
}

/** Meaning of a column; the word of a source line ("GPS") counts as part of its name where that makes one. */
export function sourcedMeaning({header, source, unit}: RawColumn): ColumnMeaning {
  const meaning = source === null ? null : columnMeaning(`${source} ${header}`, unit);
  return meaning?.quantity ? meaning : columnMeaning(header, unit);
}

type ChannelHead = Omit<Channel, "values" | "valid">;

/** A channel without its values. */
function channelHead(entry: Named, table: RawTable, time: TimeBase): ChannelHead {
  const {column, meaning, declaredUnit, name} = entry;
  const {kind, labels, header, source} = column;
  const isTime = column === time.columns[0];
  const head: ChannelHead = {
    name,
    column:
      source && table.columns.some(other => other !== column && other.header === header)
        ? `${header} (${source})`
        : header,
    unit: declaredUnit?.symbol ?? meaning.unitText,
    valueUnit: isTime ? "s" : valueUnit(kind, unitOf(entry), meaning, quantityNamed(name)),
    kind: kind === "text" || kind === "flag" ? kind : "number",
  };
  if (labels) head.labels = labels;
  return head;
}

function toChannel(
  head: ChannelHead,
  entry: Named,
  table: RawTable,
  time: TimeBase,
  unread: Unread,
): Channel {
  const {column} = entry;
  const number = column.kind === "number";
  const isTime = column === time.columns[0];
  if (isTime && time.range) return {...head, values: time.timeS, valid: time.rows.count, range: time.range};
  const values = isTime ? time.timeS : keptValues(column.values, time.kept);
  let valid = number && !isTime ? dropMissingCodes(values, column, table, time, unread) : null;
  if (!isTime && toSIInPlace(values, column.zero, number ? unitOf(entry) : null)) valid = null;
  valid ??= countFinite(values);
  if (valid === 0) unread.columns.push(noValue(column));
  return {...head, values, valid};
}

/** A channel whose values were left in the file. */
function toRange(
  head: ChannelHead,
  {column}: Named,
  {valid, range, codes}: ColumnRange,
  unread: Unread,
): Channel {
  unread.rows.push(...codes);
  if (valid === 0) unread.columns.push(noValue(column));
  return {...head, values: column.values, valid, range: head.kind === "text" ? null : range};
}

function noValue({header}: RawColumn): Unread["columns"][number] {
  return {name: header, reason: "no value in any row"};
}

function unitOf({declaredUnit, meaning}: Named): UnitRow | null {
  return declaredUnit ?? meaning.unit;
}

/** Brings a channel of fixes to the one scale of all formats; one whose words are not known stays a text. */
function toFixScale(channel: Channel, column: RawColumn, {kept}: TimeBase): Guess[] {
  const fixes = onFixScale(column);
  if (fixes === null) return [];
  channel.values = keptValues(fixes.values, kept);
  channel.valid = countFinite(channel.values);
  channel.kind = "number";
  channel.valueUnit = "1";
  delete channel.labels;
  if (fixes.takenFor === "words") return [];
  return [{what: `scale of "${column.header}"`, chosen: fixes.takenFor, confidence: "likely"}];
}

function countFinite(values: Float64Array): number {
  let count = 0;
  for (let i = 0; i < values.length; i++) if (values[i] - values[i] === 0) count++; // NaN and ∞ give NaN
  return count;
}

/** Converts where there is something to convert; true where there was. */
function toSIInPlace(values: Float64Array, zero: number, unit: UnitRow | null): boolean {
  if (zero === 0 && (unit === null || (unit.factor === 1 && unit.divisor === 1 && unit.offset === 0)))
    return false;
  for (let i = 0; i < values.length; i++) values[i] = unit ? toSI(values[i] + zero, unit) : values[i] + zero;
  return true;
}

function valueUnit(
  kind: RawColumn["kind"],
  unit: UnitRow | null,
  {unitText}: ColumnMeaning,
  quantity: QuantityWords | null,
): string | null {
  if (kind === "text" || kind === "flag") return null;
  if (kind !== "number") return "s"; // clocks and dates
  if (unit) return siSymbol(unit.dimension);
  return unitText ?? (quantity?.usual === undefined ? null : quantitySymbol(quantity));
}

function keptValues(values: Float64Array, kept: Uint32Array | null): Float64Array {
  if (!kept) return values;
  const chosen = new Float64Array(kept.length);
  for (let i = 0; i < kept.length; i++) chosen[i] = values[kept[i]];
  return chosen;
}

/** Takes out the codes for "no value" and returns how many finite values are left. */
function dropMissingCodes(
  values: Float64Array,
  column: RawColumn,
  table: RawTable,
  time: TimeBase,
  unread: Unread,
): number {
  if (column.plain != null && !time.kept) return column.plain;
  const tally = createTally();
  let finite = 0;
  for (let i = 0; i < values.length; i++) {
    const size = Math.abs(values[i]);
    if (size < LEAST_CODE) {
      finite++; // most values; the rest of the loop is slow
      continue;
    }
    if (!isMissingCode(values[i])) {
      if (size < Number.POSITIVE_INFINITY) finite++;
      continue;
    }
    const line = table.lineOf(time.kept ? time.kept[i] : i);
    tally.add(missingCodeWords(values[i], column.header), line);
    values[i] = Number.NaN;
  }
  unread.rows.push(...tally.rows());
  return finite;
}

/** Of columns with one name and the same values the first keeps the name; the others get their own. */
function keepFirstOfEqual(channels: Channel[], named: Named[], guesses: Guess[]): void {
  const first = new Map<string, Channel>();
  for (const [i, channel] of channels.entries()) {
    const {meaning, column} = named[i];
    if (!meaning.quantity || channel.name !== meaning.quantity.name) continue;
    const other = first.get(channel.name);
    if (!other) {
      first.set(channel.name, channel);
    } else if (other.range === undefined && channel.range === undefined && sameValues(other, channel)) {
      channel.name = ownName(column);
      guesses.push({
        what: other.name,
        chosen: `the first of two columns with the same values, "${other.column}"`,
        confidence: "sure",
      });
    }
  }
}

/** Two columns hold the same values when no row with both differs by more than rounding to the coarser of the two. */
function sameValues(a: Channel, b: Channel): boolean {
  if (a.kind !== b.kind || a.valueUnit !== b.valueUnit || a.valid === 0 || b.valid === 0) return false;
  const rounding = (resolutionOf(a.values) + resolutionOf(b.values)) / 2;
  for (let i = 0; i < a.values.length; i++) {
    const allowed = rounding * 1.01 + CONVERSION * Math.abs(a.values[i]);
    if (Math.abs(a.values[i] - b.values[i]) > allowed) return false; // NaN compares false
  }
  return true;
}

/** Smallest difference between neighbouring values that differ at all; 0 for a constant and where too few rows tell. */
function resolutionOf(values: Float64Array): number {
  if (values.length < RESOLUTION_ROWS) return 0;
  let smallest = Number.POSITIVE_INFINITY;
  for (let i = 1; i < values.length; i++) {
    const step = Math.abs(values[i] - values[i - 1]);
    if (step > 0 && step < smallest) smallest = step;
  }
  return Number.isFinite(smallest) ? smallest : 0;
}

/** The car's own speed stands in where no satellite speed was logged; its wheels may slip and its scale may be off. */
function speedFromVehicle(channels: Channel[]): Guess[] {
  if (channels.some(channel => channel.name === "speed")) return [];
  const own = channels.filter(channel => channel.name === "vehicle-speed" && channel.valid > 0);
  for (const channel of own) channel.name = "speed";
  return own.map(channel => ({
    what: "speed",
    chosen: `the car's own speed, "${channel.column}"`,
    confidence: "likely",
  }));
}

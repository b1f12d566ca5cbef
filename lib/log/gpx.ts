import {InputError} from "../result/error.ts";
import type {Guess} from "../result/log.ts";
import {FIX_LABELS} from "./fix-scale.ts";
import {type PointColumn, type TrackPoints, trackPoints} from "./gpx/points.ts";
import {speedUnit} from "./gpx/speed-unit.ts";
import type {LogReader, RawColumn, RawTable} from "./reader.ts";
import type {ByteSource} from "./source.ts";
import {createTally, type Tally} from "./tally.ts";
import {utf16Order} from "./text.ts";

/** Units that GPX gives its elements, and that extensions of the same name have without saying so. */
const UNITS: Record<string, string> = {
  ele: "m",
  geoidheight: "m",
  magvar: "deg",
  course: "deg",
  bearing: "deg",
  heading: "deg",
};

/** GPX 1.0 and 1.1: the track points, with whatever numbers they carry. */
export const gpx: LogReader = {
  format: "GPX",
  probe(head) {
    const text = new TextDecoder(utf16Order(head) ?? "utf-8").decode(head);
    if (/<(?:[\w.-]+:)?gpx[\s>]/.test(text)) return 1;
    return /^\s*<(?:\?xml|!DOCTYPE)\b/i.test(text) ? 0.9 : 0; // other XML: to say so is better than to look for a table
  },
  read: readGpx,
};

function readGpx(source: ByteSource): RawTable {
  const tally = createTally();
  const points = trackPoints(source, tally);
  const rows = points.lines.length;
  if (points.root !== "gpx") throw otherXml(source.file, points.root);
  if (rows === 0) throw noTrack(source.file, tally);
  const guesses: Guess[] = [];
  const columns = timeColumns(points);
  columns.push(column("latitude", "deg", points.latitudeDeg, rows));
  columns.push(column("longitude", "deg", points.longitudeDeg, rows));
  for (const found of points.columns) {
    const unit =
      found.name.toLowerCase() === "speed"
        ? speedUnit(points, found, guesses)
        : (UNITS[found.name.toLowerCase()] ?? null);
    const fix =
      found.prefix === null && found.name === "fix" ? {kind: "text" as const, labels: FIX_LABELS} : {};
    columns.push({
      ...column(header(found, points), unit, found.values, rows),
      source: found.prefix || null,
      ...fix,
    });
  }
  columns.push(column("segment", null, points.segment, rows));
  for (const [k, numbered] of columns.entries()) numbered.number = k + 1;
  return {
    format: gpx.format,
    columns,
    rows,
    lineOf: row => points.lines[row],
    unread: {
      rows: tally.rows(),
      columns: points.textElements.map(name => ({name, reason: "text in the track points, not numbers"})),
    },
    guesses,
  };
}

function timeColumns({times}: TrackPoints): RawColumn[] {
  const zero = times.find(time => time !== null)?.midnightS;
  if (zero === undefined) return [];
  const values = Float64Array.from(times, time => (time ? time.midnightS - zero + time.clockS : Number.NaN));
  return [{...column("time", null, [], 0), kind: "date-time", values, zero}];
}

/** A foreign element beside one of GPX's own that is called alike keeps its prefix, so that the own one is taken. */
function header({name, prefix}: PointColumn, {columns}: TrackPoints): string {
  const own = columns.some(other => other.prefix === null && other.name === name);
  return prefix === null || !own ? name : `${prefix || "extensions"}:${name}`;
}

function column(name: string, unit: string | null, cells: number[], rows: number): RawColumn {
  const values = new Float64Array(rows).fill(Number.NaN);
  values.set(cells);
  return {number: 0, header: name, unit, source: null, kind: "number", values, zero: 0, labels: null};
}

function otherXml(file: string, root: string): InputError {
  return new InputError(1, {
    code: "not-gpx",
    words: `this XML file is <${root}>, not GPX`,
    file,
    line: 1,
    hint: "export the track as GPX or CSV",
  });
}

function noTrack(file: string, tally: Tally): InputError {
  const found = tally.rows().map(({reason, count}) => `${count} × ${reason}`);
  return new InputError(1, {
    code: "nothing-to-read",
    words: `the GPX file has no track point${found.length > 0 ? `, only ${found.join(", ")}` : ""}`,
    file,
    hint: "export the recorded track, not a route or places",
  });
}

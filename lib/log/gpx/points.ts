import {fixOfWord} from "../fix-scale.ts";
import type {ByteSource} from "../source.ts";
import type {Tally} from "../tally.ts";
import {type Instant, readDateTime} from "./date-time.ts";
import {walkXml} from "./xml.ts";

/** Values of one kind of element inside track points. */
export interface PointColumn {
  /** name of the element without prefix */
  name: string;
  /** prefix of a foreign name space, "" without one, or null for GPX's own elements */
  prefix: string | null;
  /** one a point as far as the last point that has it; holes are points without it */
  values: number[];
}

/** Track points of a GPX file. */
export interface TrackPoints {
  /** root element without prefix */
  root: string;
  /** version as written, or "" */
  version: string;
  lines: number[];
  latitudeDeg: number[];
  longitudeDeg: number[];
  times: (Instant | null)[];
  /** segment of each point, counted from 1 over all tracks */
  segment: number[];
  columns: PointColumn[];
  /** names of the elements in points that hold text */
  textElements: string[];
}

/** Points carry a handful of values; a file with more kinds of element than this is hostile. */
const MOST_COLUMNS = 60;
const BEYOND = `value beyond ${MOST_COLUMNS} kinds of element`;
/** No value is longer [characters]; the rest of a longer text is not looked at. */
const LONGEST_TEXT = 200;
const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?$/i;
const OTHER_POINTS: Record<string, string> = {
  wpt: "waypoint (wpt), not part of a track",
  rtept: "route point (rtept), not part of a track",
};

/**
 * Collects the track points of a GPX file: position, time and every element in them that holds a number, whatever name
 * space it is of. Elements are told by their names behind the prefix, since many files lack the name space's declaration.
 *
 * @throws {InputError} as `walkXml`
 */
export function trackPoints(source: ByteSource, tally: Tally): TrackPoints {
  const points: TrackPoints = {
    root: "",
    version: "",
    lines: [],
    latitudeDeg: [],
    longitudeDeg: [],
    times: [],
    segment: [],
    columns: [],
    textElements: [],
  };
  const columns = new Map<string, PointColumn>();
  const texts = new Map<string, {local: string; count: number; line: number}>();
  let rootPrefix = "";
  let segment = 0;
  /** number of elements open inside the current point, the point itself not counted; −1 outside */
  let inside = -1;
  /** number of elements open inside and including its extensions */
  let extended = 0;
  let leaf = false;
  let content = "";

  function startPoint(attributes: Record<string, string>, line: number): void {
    const latitude = coordinate(attributes.lat, 90);
    const longitude = coordinate(attributes.lon, 180);
    const complete = !Number.isNaN(latitude + longitude);
    if (!complete) tally.add("track point with a missing or impossible position", line);
    points.latitudeDeg.push(complete ? latitude : Number.NaN);
    points.longitudeDeg.push(complete ? longitude : Number.NaN);
    points.lines.push(line);
    points.times.push(null);
    points.segment.push(Math.max(1, segment));
  }

  function endLeaf(name: string): void {
    const {prefix, local} = nameParts(name);
    const text = content.trim();
    const row = points.lines.length - 1;
    const line = points.lines[row];
    const own = extended === 0 && prefix === rootPrefix && inside === 1;
    if (text === "") return;
    if (own && local === "time") {
      points.times[row] = readDateTime(text);
      if (points.times[row] === null) tally.add("unreadable time", line);
      return;
    }
    const value =
      own && local === "fix"
        ? (fixOfWord(text) ?? Number.NaN)
        : NUMBER.test(text)
          ? Number(text)
          : Number.NaN;
    const key = own ? local : `${prefix}:${local}`;
    const column = columns.get(key);
    if (!Number.isFinite(value)) {
      const seen = texts.get(key);
      if (seen) seen.count++;
      else if (texts.size < MOST_COLUMNS) texts.set(key, {local, count: 1, line});
      else tally.add(BEYOND, line);
    } else if (column) {
      if (column.values[row] === undefined) fill(column.values, row, value);
      else tally.add(`second "${local}" in one point`, line);
    } else if (columns.size < MOST_COLUMNS) {
      columns.set(key, {name: local, prefix: own ? null : prefix, values: fill([], row, value)});
    } else tally.add(BEYOND, line);
  }

  walkXml(source, {
    open(name, attributes, line) {
      const {prefix, local} = nameParts(name);
      leaf = true;
      content = "";
      if (inside >= 0) {
        inside++;
        if (extended > 0 || local === "extensions") extended++;
      } else if (points.root === "") {
        points.root = local;
        points.version = attributes.version ?? "";
        rootPrefix = prefix;
      } else if (prefix !== rootPrefix) return;
      else if (local === "trkseg") segment++;
      else if (local === "trkpt") {
        inside = 0;
        startPoint(attributes, line);
      } else if (Object.hasOwn(OTHER_POINTS, local)) tally.add(OTHER_POINTS[local], line);
    },
    text(text) {
      if (inside > 0 && leaf && content.length < LONGEST_TEXT) content += text.slice(0, LONGEST_TEXT);
    },
    close(name) {
      if (inside > 0 && leaf) endLeaf(name);
      leaf = false;
      if (extended > 0) extended--;
      if (inside >= 0) inside--;
    },
  });
  points.columns = [...columns.values()];
  for (const [key, {local, count, line}] of texts) {
    if (columns.has(key)) tally.add(`no number in "${local}"`, line, count);
    else points.textElements.push(local);
  }
  return points;
}

function coordinate(text: string | undefined, limit: number): number {
  const value = text !== undefined && NUMBER.test(text.trim()) ? Number(text) : Number.NaN;
  return Math.abs(value) <= limit ? value : Number.NaN;
}

/** Puts a value at `row`; rows skipped become NaN, so that the list stays one of plain numbers. */
function fill(values: number[], row: number, value: number): number[] {
  while (values.length < row) values.push(Number.NaN);
  values[row] = value;
  return values;
}

function nameParts(name: string): {prefix: string; local: string} {
  const colon = name.indexOf(":");
  return {prefix: name.slice(0, Math.max(0, colon)), local: name.slice(colon + 1)};
}

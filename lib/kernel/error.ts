import {inspect} from "node:util";
import {originalPositionFor, TraceMap} from "@jridgewell/trace-mapping";

/** How a cell failed, in the shape of Jupyter's messages. */
export interface CellError {
  ename: string;
  evalue: string;
  /** first line: name and message; then one line per place, innermost first */
  traceback: string[];
}

/** Source maps of the cells that ran, by script name ("cell 3"). */
export type CellMaps = Map<string, string>;

/** Name of a cell in stack traces; the number is its execution count. */
export function cellName(number: number): string {
  return `cell ${number}`;
}

/**
 * Whatever a cell threw, as an error that names cell, line and column of the notebook.
 * Frames outside the cells and the packages they call are left out.
 */
export function cellError(thrown: unknown, maps: CellMaps): CellError {
  if (!isErrorLike(thrown)) {
    const text = inspect(thrown);
    return {ename: "Thrown", evalue: text, traceback: [`Thrown: ${text}`]};
  }
  const {name, message} = thrown;
  const frames = String(thrown.stack ?? "")
    .split("\n")
    .filter(line => /^\s+at /.test(line));
  const outside = frames.findIndex(line => / \(?node:(vm|internal)|\/kernel\/(run|context)\.js:/.test(line));
  const own = (outside < 0 ? frames : frames.slice(0, outside)).map(line => mappedFrame(line, maps));
  const head = `${name}: ${message}`;
  const cause = thrown.cause === undefined ? [] : [`caused by ${cellError(thrown.cause, maps).traceback[0]}`];
  return {ename: name, evalue: message, traceback: [head, ...own, ...cause]};
}

function isErrorLike(value: unknown): value is Error {
  return (
    typeof value === "object" &&
    value !== null &&
    typeof (value as Error).name === "string" &&
    typeof (value as Error).message === "string"
  );
}

/** Line of code that tslab puts before a cell. */
const PREFIX_LINES = 1;

function mappedFrame(frame: string, maps: CellMaps): string {
  const called = frame.replace(/ at Proxy\.(.* \(cell )/, " at $1"); // functions of earlier cells are called as members
  const named = called.replace(/ at (Timeout|Immediate)\.\S+ \(cell /, " at timer (cell ");
  return named.replace(/\b(cell \d+):(\d+):(\d+)/g, (all, cell: string, line: string, column: string) => {
    const map = maps.get(cell);
    if (map === undefined) return all;
    const place = originalPositionFor(new TraceMap(map), {line: Number(line), column: Number(column) - 1});
    if (place.line === null || place.line <= PREFIX_LINES) return cell;
    return `${cell}:${place.line - PREFIX_LINES}:${place.column + 1}`;
  });
}

import {createHash} from "node:crypto";
import {readFileSync} from "node:fs";
import {dirname, resolve} from "node:path";
import {LineCounter, parseDocument} from "yaml";
import {recordInput} from "../log/record-input.ts";
import {InputError} from "../result/error.ts";
import type {Air, Band} from "../result/session.ts";
import {coastdownSchema} from "./coastdown-schema.ts";
import {readSessionFile} from "./session-file.ts";
import {placeOf} from "./yaml-place.ts";

/** One coastdown of a session. */
export interface CoastdownSessionRun {
  /** from 1 */
  run: number;
  file: string;
  /** span within the log [s], or null */
  fromS: number | null;
  toS: number | null;
  direction: "out" | "back" | null;
  exclude: string | null;
  airTemperatureK: number | null;
}

/** A session of `test: coastdown` after reading, in SI; null where it does not say. */
export interface CoastdownSession {
  test: "coastdown";
  file: string;
  folder: string;
  sha256: string;
  question: string;
  /** falls: from the higher to the lower speed */
  band: Band;
  massKg: number;
  /** effective mass over mass as the car coasts */
  rotatingMassFactor: number | null;
  air: Air;
  /** driving before the first run [s] */
  warmUpS: number | null;
  terms: 2 | 3;
  headwindOutMps: number | null;
  columns: Record<string, string>;
  seed: number;
  level: number;
  runs: CoastdownSessionRun[];
}

/**
 * The `test:` of a session file, or null where it cannot be read: then `readSession` says why.
 */
export function testOfSession(file: string, {cwd = process.cwd()}: {cwd?: string} = {}): string | null {
  try {
    const written = parseDocument(readFileSync(resolve(cwd, file), "utf8")).toJS() as {test?: unknown} | null;
    return typeof written?.test === "string" ? written.test : null;
  } catch {
    return null;
  }
}

/**
 * Reads a session file of `test: coastdown`.
 *
 * @throws {InputError} exit code 2 with line and column: a key unknown, missing or without its unit, a band that does not fall
 */
export function readCoastdownSession(
  file: string,
  {cwd = process.cwd()}: {cwd?: string} = {},
): CoastdownSession {
  const path = resolve(cwd, file);
  const bytes = readSessionFile(path, file);
  const lines = new LineCounter();
  const document = parseDocument(bytes.toString("utf8"), {lineCounter: lines, prettyErrors: false});
  const fail = (keys: readonly PropertyKey[], words: string, hint?: string): never => {
    const {line, column} = placeOf(document, lines, keys);
    throw new InputError(2, {code: "session-value", file, line, column, words, hint});
  };
  const parsed = coastdownSchema.safeParse(document.toJS());
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    const where = issue.path
      .map(part => (typeof part === "number" ? `[${part + 1}]` : `.${String(part)}`))
      .join("")
      .replace(/^\./, "");
    const words =
      issue.code === "unrecognized_keys"
        ? `"${issue.keys[0]}" is not a key of a coastdown session`
        : `${where} ${issue.message}`;
    fail(issue.path, words.trim());
  }
  const data = parsed.data!;
  const {from, to} = data.band;
  if (!(from.si > to.si && to.si > 0))
    fail(
      ["band"],
      "band: a coastdown falls from a higher to a lower speed above standstill",
      "write for example {from: 115 km/h, to: 25 km/h}",
    );
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  recordInput(path, sha256);
  const {air} = data;
  return {
    test: "coastdown",
    file,
    folder: dirname(path),
    sha256,
    question: data.question,
    band: {fromMps: from.si, toMps: to.si, unit: from.unit, gear: null},
    massKg: data.vehicle.mass,
    rotatingMassFactor: data.vehicle.rotatingMassFactor ?? null,
    air: {
      temperatureK: air?.temperature ?? null,
      pressurePa: air?.pressure ?? null,
      seaLevelPressurePa: air?.seaLevelPressure ?? null,
      heightM: air?.height ?? null,
      humidity: air?.humidity ?? null,
      dewPointK: air?.dewPoint ?? null,
    },
    warmUpS: data.warmUp ?? null,
    terms: data.terms ?? 2,
    headwindOutMps: data.wind?.headwindOut ?? null,
    columns: data.columns ?? {},
    seed: data.seed ?? 1,
    level: data.level ?? 0.95,
    runs: data.runs.map((run, i) => ({
      run: i + 1,
      file: run.file,
      fromS: run.from ?? null,
      toS: run.to ?? null,
      direction: run.direction ?? null,
      exclude: run.exclude ?? null,
      airTemperatureK: run.conditions?.airTemperature ?? null,
    })),
  };
}

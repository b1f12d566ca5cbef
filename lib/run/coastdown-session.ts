import {createHash} from "node:crypto";
import {readFileSync} from "node:fs";
import {dirname, resolve} from "node:path";
import {parseDocument} from "yaml";
import {recordInput} from "../log/record-input.ts";
import type {Air, Band} from "../result/session.ts";
import {coastdownSchema} from "./coastdown-schema.ts";
import {readSessionFile} from "./session-file.ts";
import {bySchema, checkSpans, openYaml} from "./session-yaml.ts";
import {placeOf} from "./yaml-place.ts";

/** One coastdown of a session. */
export interface CoastdownSessionRun {
  /** from 1 */
  run: number;
  /** of the session file */
  line: number;
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
 * @throws {InputError} exit code 2 with line and column: not YAML, a key unknown, misspelt or missing, a quantity without its unit, a band
 *   that does not fall, a run listed twice for the same span
 */
export function readCoastdownSession(
  file: string,
  {cwd = process.cwd()}: {cwd?: string} = {},
): CoastdownSession {
  const path = resolve(cwd, file);
  const bytes = readSessionFile(path, file);
  const yaml = openYaml(bytes, file);
  const place = (keys: readonly PropertyKey[]) => placeOf(yaml.document, yaml.lines, keys);
  const fail = (keys: readonly PropertyKey[], words: string, hint?: string): never =>
    yaml.fail("session-value", place(keys), words, hint);
  const data = bySchema(coastdownSchema, yaml.written, yaml);
  const {from, to} = data.band;
  if (!(from.si > to.si && to.si > 0))
    fail(
      ["band"],
      "band: a coastdown falls from a higher to a lower speed above standstill",
      "write for example {from: 115 km/h, to: 25 km/h}",
    );
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  recordInput(path, sha256);
  const runs = data.runs.map((run, i) => ({
    run: i + 1,
    line: place(["runs", i]).line,
    file: run.file,
    fromS: run.from?.si ?? null,
    toS: run.to?.si ?? null,
    direction: run.direction ?? null,
    exclude: run.exclude ?? null,
    airTemperatureK: run.conditions?.airTemperature?.si ?? null,
  }));
  checkSpans(runs, (run, key, words, hint) => fail(["runs", run.run - 1, key], words, hint));
  const {air} = data;
  return {
    test: "coastdown",
    file,
    folder: dirname(path),
    sha256,
    question: data.question,
    band: {fromMps: from.si, toMps: to.si, unit: from.unit, gear: null},
    massKg: data.vehicle.mass.si,
    rotatingMassFactor: data.vehicle.rotatingMassFactor ?? null,
    air: {
      temperatureK: air?.temperature?.si ?? null,
      pressurePa: air?.pressure?.si ?? null,
      seaLevelPressurePa: air?.seaLevelPressure?.si ?? null,
      heightM: air?.height?.si ?? null,
      humidity: air?.humidity ?? null,
      dewPointK: air?.dewPoint?.si ?? null,
    },
    warmUpS: data.warmUp?.si ?? null,
    terms: data.terms ?? 2,
    headwindOutMps: data.wind?.headwindOut.si ?? null,
    columns: data.columns ?? {},
    seed: data.seed ?? 1,
    level: data.level ?? 0.95,
    runs,
  };
}

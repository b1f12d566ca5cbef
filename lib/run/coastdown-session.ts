import {createHash} from "node:crypto";
import {readFileSync} from "node:fs";
import {dirname, resolve} from "node:path";
import {LineCounter, parseDocument} from "yaml";
import {z} from "zod";
import {recordInput} from "../log/record-input.ts";
import {InputError} from "../result/error.ts";
import type {Air, Band} from "../result/session.ts";
import {UnitError} from "../units/error.ts";
import {parseQuantity} from "../units/quantity.ts";
import type {Dimension} from "../units/table.ts";
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

function quantity(dimension: Dimension) {
  return z.string({error: "must be a number with its unit"}).transform((written, context) => {
    try {
      return parseQuantity(written, {dimension}).si;
    } catch (error) {
      if (!(error instanceof UnitError)) throw error;
      context.addIssue({
        code: "custom",
        message: error.hint ? `${error.message}; ${error.hint}` : error.message,
      });
      return z.NEVER;
    }
  });
}

const text = z.string().trim().min(1);
const speedWithUnit = z.string().transform((written, context) => {
  try {
    const {si, unit} = parseQuantity(written, {dimension: "speed"});
    return {si, unit};
  } catch (error) {
    context.addIssue({code: "custom", message: (error as Error).message});
    return z.NEVER;
  }
});

/** The session file of a coastdown, version 1, as it is written. */
export const coastdownSchema = z.strictObject({
  fairpull: z.literal(1),
  test: z.literal("coastdown"),
  question: text,
  band: z.strictObject({from: speedWithUnit, to: speedWithUnit}),
  vehicle: z.strictObject(
    {mass: quantity("mass"), rotatingMassFactor: z.number().min(1).max(1.5).optional()},
    {
      error: issue =>
        issue.input === undefined
          ? "is missing; a force needs the car's mass: vehicle: {mass: 1390 kg}"
          : undefined,
    },
  ),
  air: z
    .strictObject({
      temperature: quantity("temperature").optional(),
      pressure: quantity("pressure").optional(),
      seaLevelPressure: quantity("pressure").optional(),
      height: quantity("length").optional(),
      humidity: z.number().min(0).max(1, "is no humidity; 55 % is written 0.55").optional(),
      dewPoint: quantity("temperature").optional(),
    })
    .optional(),
  warmUp: quantity("time").optional(),
  terms: z.union([z.literal(2), z.literal(3)]).optional(),
  wind: z
    .strictObject({headwindOut: quantity("speed"), uncertainty: quantity("speed").optional()})
    .optional(),
  columns: z.record(z.string(), z.union([text, z.int().min(1).transform(String)])).optional(),
  seed: z.int().min(0).optional(),
  level: z.number().min(0.5).max(0.999).optional(),
  runs: z
    .array(
      z.strictObject({
        file: text,
        from: quantity("time").optional(),
        to: quantity("time").optional(),
        direction: z.enum(["out", "back"]).optional(),
        exclude: text.optional(),
        note: text.optional(),
        at: text.optional(),
        conditions: z.strictObject({airTemperature: quantity("temperature").optional()}).optional(),
      }),
    )
    .min(2, "a coastdown needs at least 2 runs"),
});

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
  const bytes = readFileSync(path);
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

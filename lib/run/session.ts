import {createHash} from "node:crypto";
import {dirname, resolve} from "node:path";
import {recordInput} from "../log/record-input.ts";
import {InputError} from "../result/error.ts";
import type {ArmName, Conditions, Session, SessionRun, Worthwhile} from "../result/session.ts";
import type {UnitError} from "../units/error.ts";
import {parseQuantity} from "../units/quantity.ts";
import {readSessionFile} from "./session-file.ts";
import {OTHER_TESTS, RESERVED_RUN, RESERVED_TOP, type SessionFile, sessionSchema} from "./session-schema.ts";
import {bySchema, checkSpans, keyPath, openYaml} from "./session-yaml.ts";
import {type Place, placeOf} from "./yaml-place.ts";

const DEFAULT_SEED = 1;
const DEFAULT_LEVEL = 0.95;

/**
 * Reads a session file (YAML, version 1): checks every key, converts every quantity to SI.
 *
 * @param file path of the session file; messages and results name it as it is given
 * @param options cwd: folder that a relative path starts from, default that of the process; beforeRuns: the session may be one before
 *   the day, which lists no run yet
 * @throws {InputError} exit code 2 with line and column: not readable, not YAML, a key unknown, missing or misspelt, a
 *   quantity without a known unit, a run listed twice for the same span, an arm without a run
 */
export function readSession(
  file: string,
  {cwd = process.cwd(), beforeRuns}: {cwd?: string; beforeRuns?: boolean} = {},
): Session {
  const path = resolve(cwd, file);
  const session = readSessionBytes(readSessionFile(path, file), {file, folder: dirname(path), beforeRuns});
  recordInput(path, session.sha256);
  return session;
}

/** How a session of another kind is read by the rules of a comparison. */
export interface SessionReading {
  file: string;
  folder: string;
  beforeRuns?: boolean;
  /** runs of both arms are needed; default where nothing is prepared */
  bothArms?: boolean;
  /** turns what is written into what a comparison would be written as; `fail` names the key that cannot be */
  prepare?(
    written: Record<string, unknown>,
    fail: (path: readonly PropertyKey[], words: string, hint: string) => never,
  ): Record<string, unknown>;
}

/** As `readSession`, for bytes in memory; messages name `file`, and logs are looked for in `folder`. */
export function readSessionBytes(
  bytes: Uint8Array,
  {file, folder, beforeRuns = false, prepare, bothArms = !prepare}: SessionReading,
): Session {
  const {document, lines, written, fail} = openYaml(bytes, file);
  const {test} = written;
  if (!prepare && typeof test === "string" && Object.hasOwn(OTHER_TESTS, test)) {
    fail(
      "session-kind",
      placeOf(document, lines, ["test"]),
      `test: "${test}" is another kind of test than the comparison that is read here`,
      `fairpull judge answers it, and ${OTHER_TESTS[test]} reads it`,
    );
  }
  const prepared =
    prepare?.(written, (path, words, hint) =>
      fail("session-value", placeOf(document, lines, path), words, hint),
    ) ?? written;
  const data = bySchema(sessionSchema, prepared, {document, lines, fail}, issue =>
    issue.code === "unrecognized_keys" ? elsewhere(issue) : null,
  );
  const session = {
    ...toSession({file, folder}, bytes, data, keys => placeOf(document, lines, keys)),
    written,
  };
  if (session.runs.length === 0) {
    if (beforeRuns) return session;
    fail(
      "session-runs",
      placeOf(document, lines, ["runs"]),
      "no run is listed",
      "before the day this session is for fairpull plan; afterwards fairpull gather adds the runs",
    );
  }
  checkArms(data, (i, words, hint) =>
    fail("session-runs", placeOf(document, lines, ["runs", i, "arm"]), words, hint),
  );
  checkRuns(session, (run, key, words, hint) =>
    fail("session-runs", placeOf(document, lines, ["runs", run.run - 1, key]), words, hint),
  );
  if (bothArms) {
    for (const arm of ["baseline", "changed"] as const) {
      if (session.runs.some(run => run.arm === arm)) continue;
      const place = placeOf(document, lines, ["runs", 0, "arm"]);
      fail("session-runs", place, `no run has arm: ${arm}`, "a comparison needs runs of both arms");
    }
  }
  return session;
}

/** A key that other versions or other kinds of test know, in words. */
function elsewhere(issue: {
  path: readonly PropertyKey[];
  keys: readonly string[];
}): [words: string, hint: string] | null {
  const [key] = issue.keys;
  const where = issue.path.length > 0 ? ` in ${keyPath(issue.path)}` : "";
  const reserved: readonly string[] = issue.path[0] === "runs" ? RESERVED_RUN : RESERVED_TOP;
  if (reserved.includes(key)) {
    return [
      `"${key}"${where} is read by later versions of fairpull only`,
      "take it out or use a newer library",
    ];
  }
  if (key === "engine") {
    return [
      `"${key}"${where} is a key of sessions that look into the engine log`,
      "take it out, or write test: channels",
    ];
  }
  return null;
}

function toSession(
  {file, folder}: {file: string; folder: string},
  bytes: Uint8Array,
  data: SessionFile,
  place: (path: PropertyKey[]) => Place,
): Omit<Session, "written"> {
  const letters = data.seal?.letters ?? null;
  // While the seal is closed, A takes the place of the baseline and B that of the changed arm; which they are nobody knows.
  const armOf = (written: "baseline" | "changed" | "A" | "B"): ArmName =>
    written === "A" || written === "B"
      ? (letters ?? {A: "baseline" as const, B: "changed" as const})[written]
      : written;
  return {
    file,
    folder,
    sha256: createHash("sha256").update(bytes).digest("hex"),
    test: data.test,
    question: data.question,
    primary: data.primary,
    worthwhile: toWorthwhile(file, data.worthwhile, data.primary, place),
    band: toBand(file, data.band, place),
    arms: data.seal && !letters ? {baseline: "A", changed: "B"} : data.arms,
    plan: data.plan
      ? {
          order: data.plan.order,
          runs: data.plan.runs ?? null,
          seed: data.plan.seed ?? null,
          looks: data.plan.looks ?? 1,
          unit: data.plan.unit ?? "run",
          locked: data.plan.locked ?? null,
          ...(data.plan.mostChanges !== undefined && {mostChanges: data.plan.mostChanges}),
          ...(data.plan.ways !== undefined && {ways: data.plan.ways}),
          ...(data.plan.refit !== undefined && {refit: data.plan.refit}),
          ...(data.plan.fixed !== undefined && {fixed: data.plan.fixed}),
        }
      : null,
    road: data.road ? {access: data.road.access, limitMps: data.road.limit?.si ?? null} : null,
    vehicle: {
      massKg: data.vehicle?.mass?.si ?? null,
      massUncertaintyKg: data.vehicle?.massUncertainty?.si ?? null,
      dragAreaM2: data.vehicle?.dragArea?.si ?? null,
      rollingCoefficient: data.vehicle?.rollingCoefficient ?? null,
      rotatingMassFactor: data.vehicle?.rotatingMassFactor ?? null,
    },
    air: {
      temperatureK: data.air?.temperature?.si ?? null,
      pressurePa: data.air?.pressure?.si ?? null,
      seaLevelPressurePa: data.air?.seaLevelPressure?.si ?? null,
      heightM: data.air?.height?.si ?? null,
      humidity: data.air?.humidity ?? null,
      dewPointK: data.air?.dewPoint?.si ?? null,
    },
    wind: data.wind
      ? {headwindOutMps: data.wind.headwindOut.si, uncertaintyMps: data.wind.uncertainty.si}
      : null,
    columns: data.columns ?? {},
    rateHz: data.rate?.si ?? null,
    group: data.group ?? null,
    maxGapS: data.maxGap?.si ?? null,
    seed: data.seed ?? DEFAULT_SEED,
    level: data.level ?? DEFAULT_LEVEL,
    seal: data.seal
      ? {
          commitment: data.seal.commitment,
          letters,
          salt: data.seal.salt ?? null,
          opened: data.seal.opened ?? null,
        }
      : null,
    runs: (data.runs ?? []).map((run, i): SessionRun => {
      const conditions = run.conditions ?? {};
      return {
        run: i + 1,
        line: place(["runs", i]).line,
        file: run.file,
        fromS: run.from?.si ?? null,
        toS: run.to?.si ?? null,
        arm: armOf(run.arm),
        block: run.block ?? null,
        direction: run.direction ?? null,
        gear: run.gear ?? null,
        note: run.note ?? null,
        exclude: run.exclude ?? null,
        excludedBefore: run.excludedBefore ?? null,
        refitted: run.refitted ?? false,
        at: run.at ?? null,
        traffic: run.traffic ?? null,
        guess: run.guess ?? null,
        rateHz: run.rate?.si ?? null,
        group: run.group ?? null,
        maxGapS: run.maxGap?.si ?? null,
        conditions: {
          airTemperatureK: conditions.airTemperature?.si ?? null,
          intakeTemperatureK: conditions.intakeTemperature?.si ?? null,
          coolantK: conditions.coolant?.si ?? null,
          fuelM3: conditions.fuel?.si ?? null,
          occupants: conditions.occupants ?? null,
          tyrePressurePa: conditions.tyrePressure?.si ?? null,
          windMps: conditions.wind?.si ?? null,
        } satisfies Conditions,
      };
    }),
  };
}

function toWorthwhile(
  file: string,
  written: string,
  primary: Session["primary"],
  place: (path: PropertyKey[]) => Place,
): Worthwhile {
  const isPower = primary === "band-power";
  const {line, column} = place(["worthwhile"]);
  const share = /^([0-9.]+)\s*%(?: of the baseline mean)?$/.exec(written);
  const refuse = (words: string): never => {
    throw new InputError(2, {
      code: "session-value",
      file,
      line,
      column,
      words: `worthwhile: ${words}`,
      hint: `write for example "${isPower ? "2 kW" : "0.15 s"}" or "2 %"`,
    });
  };
  let result: Worthwhile = {value: Number.NaN, unit: "%"};
  if (share) result = {value: Number(share[1]), unit: "%"};
  else {
    try {
      result = isPower
        ? {value: parseQuantity(written, {dimension: "power"}).si, unit: "W"}
        : {value: parseQuantity(written, {dimension: "time"}).si, unit: "s"};
    } catch (error) {
      const {message, hint} = error as UnitError;
      refuse(hint ? `${message}; ${hint}` : message);
    }
  }
  if (!(result.value > 0)) refuse(`${written} is not above zero`);
  return result;
}

function toBand(
  file: string,
  band: SessionFile["band"],
  place: (path: PropertyKey[]) => Place,
): Session["band"] {
  const {line, column} = place(["band"]);
  const refuse = (words: string, hint: string): never => {
    throw new InputError(2, {code: "session-value", file, line, column, words: `band: ${words}`, hint});
  };
  const {from, to} = band;
  if (from.si <= 0 || to.si <= 0) {
    refuse("starts or ends at standstill", "use rolling pulls only: launch and wheelspin swamp a part");
  }
  if (from.si >= to.si) refuse("a pull needs a band that rises", "give the lower speed as from");
  return {fromMps: from.si, toMps: to.si, unit: from.unit, gear: band.gear ?? null};
}

/** Letters belong to a sealed test, and there every run has one. */
function checkArms(
  {runs, seal}: SessionFile,
  refuse: (run: number, words: string, hint: string) => never,
): void {
  runs?.forEach(({arm}, i) => {
    const isLetter = arm === "A" || arm === "B";
    if (isLetter && !seal) {
      refuse(
        i,
        `run ${i + 1} has the letter ${arm}, and the session has no seal`,
        "write baseline or changed",
      );
    }
    if (!isLetter && seal) {
      refuse(
        i,
        `run ${i + 1} names its arm, and the labels of this session are sealed`,
        "write its letter, A or B",
      );
    }
  });
}

function checkRuns(
  session: Session,
  refuse: (run: SessionRun, key: "file" | "arm" | "to" | "gear", words: string, hint: string) => never,
): void {
  checkSpans(session.runs, refuse);
  for (const run of session.runs) {
    if (
      run.exclude === null &&
      session.band.gear !== null &&
      (run.gear ?? session.band.gear) !== session.band.gear
    ) {
      refuse(
        run,
        "gear",
        `run ${run.run} was driven in gear ${run.gear}, and the band is one of gear ${session.band.gear}`,
        "exclude the run with its reason, or mend the gear",
      );
    }
  }
}

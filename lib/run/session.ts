import {createHash} from "node:crypto";
import {dirname, resolve} from "node:path";
import {LineCounter, parseDocument} from "yaml";
import type {z} from "zod";
import {recordInput} from "../log/record-input.ts";
import {InputError} from "../result/error.ts";
import type {ArmName, Conditions, Session, SessionRun, Worthwhile} from "../result/session.ts";
import type {UnitError} from "../units/error.ts";
import {parseQuantity} from "../units/quantity.ts";
import {editDistance} from "../units/unit.ts";
import {readSessionFile} from "./session-file.ts";
import {OTHER_TESTS, RESERVED_RUN, RESERVED_TOP, type SessionFile, sessionSchema} from "./session-schema.ts";
import {type Place, placeOf, placeOfKey} from "./yaml-place.ts";

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
  const text = new TextDecoder("utf-8", {ignoreBOM: true}).decode(bytes); // the parser knows what to do with a BOM
  const lines = new LineCounter();
  const document = parseDocument(text, {lineCounter: lines, prettyErrors: false, uniqueKeys: true});
  const fail = (code: string, place: Place, words: string, hint?: string): never => {
    throw new InputError(2, {code, file, line: place.line, column: place.column, words, hint});
  };
  const broken = document.errors[0];
  if (broken) {
    const {line, col} = lines.linePos(broken.pos[0]);
    fail(
      "session-not-yaml",
      {line, column: col},
      `not valid YAML: ${broken.message}`,
      "mend this line first",
    );
  }
  let written: unknown;
  try {
    written = document.toJS({maxAliasCount: 50});
  } catch (error) {
    fail("session-not-yaml", {line: 1, column: 1}, `not a session file: ${(error as Error).message}`);
  }
  if (typeof written !== "object" || written === null || Array.isArray(written)) {
    fail(
      "session-not-yaml",
      {line: 1, column: 1},
      "not a session file: it holds no keys",
      'a session starts with "fairpull: 1"',
    );
  }
  const {test} = written as {test?: unknown};
  if (!prepare && typeof test === "string" && Object.hasOwn(OTHER_TESTS, test)) {
    fail(
      "session-kind",
      placeOf(document, lines, ["test"]),
      `test: "${test}" is another kind of test than the comparison that is read here`,
      `fairpull judge answers it, and ${OTHER_TESTS[test]} reads it`,
    );
  }
  const prepared =
    prepare?.(written as Record<string, unknown>, (path, words, hint) =>
      fail("session-value", placeOf(document, lines, path), words, hint),
    ) ?? written;
  const parsed = sessionSchema.safeParse(prepared);
  if (!parsed.success) {
    const issue = firstByPlace(parsed.error.issues, issue => issuePlace(issue));
    fail(
      issue.code === "unrecognized_keys" ? "session-unknown-key" : "session-value",
      issuePlace(issue),
      ...issueWords(issue),
    );
  }
  const session = {
    ...toSession({file, folder}, bytes, parsed.data!, keys => placeOf(document, lines, keys)),
    written: written as Record<string, unknown>,
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
  checkArms(parsed.data!, (i, words, hint) =>
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

  function issuePlace(issue: z.core.$ZodIssue): Place {
    if (issue.code === "unrecognized_keys") return placeOfKey(document, lines, issue.path, issue.keys[0]);
    return placeOf(document, lines, issue.path);
  }
}

/** The issue that stands first in the file, so that mistakes are mended from the top. */
function firstByPlace(
  issues: readonly z.core.$ZodIssue[],
  place: (issue: z.core.$ZodIssue) => Place,
): z.core.$ZodIssue {
  const key = (issue: z.core.$ZodIssue) => place(issue).line * 10_000 + place(issue).column;
  // An unknown key is the likelier cause when a required one is missing too.
  const unknown = issues.filter(issue => issue.code === "unrecognized_keys");
  return [...(unknown.length ? unknown : issues)].sort((a, b) => key(a) - key(b))[0];
}

function issueWords(issue: z.core.$ZodIssue): [words: string, hint?: string] {
  const path = issue.path
    .map(part => (typeof part === "number" ? `[${part + 1}]` : `.${String(part)}`))
    .join("")
    .replace(/^\./, "");
  if (issue.code === "unrecognized_keys") {
    const key = issue.keys[0];
    const inRun = issue.path[0] === "runs";
    const where = path ? ` in ${path}` : "";
    if ((inRun ? RESERVED_RUN : RESERVED_TOP).some(reserved => reserved === key)) {
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
    const near = nearest(key, knownKeys(issue.path));
    return [
      `"${key}"${where} is not a key of a session`,
      near ? `did you mean "${near}"?` : `known here: ${knownKeys(issue.path).join(", ")}`,
    ];
  }
  if (issue.code === "invalid_type" && /undefined/.test(issue.message)) return [`${path} is missing`];
  return [`${path}: ${lowerFirst(issue.message)}`];
}

/** The known word that a misspelt one most likely means, or null. */
function nearest(word: string, known: readonly string[]): string | null {
  const scored = known.map(candidate => ({
    candidate,
    edits: editDistance(word.toLowerCase(), candidate.toLowerCase()),
  }));
  scored.sort((a, b) => a.edits - b.edits);
  return scored.length && scored[0].edits <= Math.max(2, word.length / 3) ? scored[0].candidate : null;
}

/** Keys allowed at a path of the file, for hints. */
function knownKeys(path: readonly PropertyKey[]): string[] {
  let schema: unknown = sessionSchema;
  for (const part of path) {
    schema = unwrap(schema);
    const {shape, element} = schema as {shape?: Record<string, unknown>; element?: unknown};
    schema = typeof part === "number" ? element : shape?.[String(part)];
  }
  return Object.keys((unwrap(schema) as {shape?: object})?.shape ?? {});
}

function unwrap(schema: unknown): unknown {
  const inner = (schema as {unwrap?: () => unknown; element?: unknown})?.unwrap;
  return inner && !(schema as {element?: unknown}).element ? unwrap(inner.call(schema)) : schema;
}

function lowerFirst(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
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
  const seen = new Map<string, SessionRun>();
  for (const run of session.runs) {
    if (run.fromS !== null && run.toS !== null && run.toS <= run.fromS) {
      refuse(
        run,
        "to",
        `run ${run.run} ends at ${run.toS} s, not after its start at ${run.fromS} s`,
        "exchange from and to",
      );
    }
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
    const key = `${run.file} ${run.fromS} ${run.toS}`;
    const twin = seen.get(key);
    if (twin) {
      refuse(
        run,
        "file",
        `run ${run.run} names the same span of ${run.file} as run ${twin.run} (line ${twin.line})`,
        "give from and to, or take one out",
      );
    }
    seen.set(key, run);
  }
}

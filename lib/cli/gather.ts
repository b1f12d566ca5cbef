import {existsSync, readFileSync, writeFileSync} from "node:fs";
import {basename, dirname, extname, join, relative, resolve, sep} from "node:path";
import {fileURLToPath, pathToFileURL} from "node:url";
import type {Command} from "commander";
import type {ReadLogOptions} from "../log/read.ts";
import {InputError} from "../result/error.ts";
import type {GatherDocument} from "../result/gather-document.ts";
import type {Band, Session} from "../result/session.ts";
import {bandOf} from "../run/band.ts";
import {draftSession, guessWords, writtenSpan} from "../run/draft-session.ts";
import {fillSession} from "../run/fill-session.ts";
import {bandWords, type Gathered, gatherFolder} from "../run/gather.ts";
import {readSession} from "../run/session.ts";
import {fromSI} from "../units/unit.ts";
import {runsPage} from "./gather-page.ts";
import type {CommandIO} from "./io.ts";
import {addLogOptions, type LogOptions, maxGapOption, readOptions, wrongOption} from "./options.ts";
import {tellAnswer, textTable} from "./output.ts";

export interface GatherCommandOptions extends LogOptions {
  from?: string;
  to?: string;
  /** session file to write, or one of plan to complete; default session.yaml in the folder */
  out?: string;
  /** files that the run sheet saved */
  sheet?: string[];
}

/** `fairpull gather FOLDER`: finds logs and runs and drafts the session. */
export function registerGather(program: Command, io: CommandIO): void {
  addLogOptions(
    program
      .command("gather")
      .description("find the runs in a folder of logs, draft session.yaml and a page with a picture of each"),
  )
    .argument("<folder>", "the folder of logs; folders in it are looked into")
    .option("--from <speed>", "speed at which the band starts, such as 60km/h (default: suggested)")
    .option("--to <speed>", "speed at which it ends, such as 110km/h")
    .option(
      "-o, --out <file>",
      "session file to write, or one of plan to complete (default: session.yaml in the folder)",
    )
    .option(
      "--sheet <file>",
      "file that the run sheet saved; may be repeated",
      (file: string, before: string[] = []) => [...before, file],
    )
    .action((folder: string, options: GatherCommandOptions) => {
      tellAnswer(io, gatherRuns(folder, options, io.cwd), {json: options.json, partial: true}, gatherText);
    });
}

/** The document of `gather`; writes the session and its page. A mistake of the user is in `error`, with the exit code beside. */
export function gatherRuns(
  folder: string,
  options: GatherCommandOptions,
  cwd: string,
): {document: GatherDocument; exitCode: 0 | 1 | 2} {
  const document: GatherDocument = {
    format: "fairpull.gather/1",
    folder,
    session: null,
    page: null,
    sheet: null,
    band: null,
    order: null,
    runs: [],
    logs: [],
    pairs: [],
    guesses: [],
    skipped: [],
  };
  try {
    const session = options.out ?? join(folder, "session.yaml");
    const page = join(dirname(session), `${basename(session, extname(session))}-runs.html`);
    const planned = plannedSession(session, cwd, options);
    for (const file of planned ? [page] : [session, page]) requireNew(file, existsSync(resolve(cwd, file)));
    const read = planned ? readOf(planned, readOptions(options)) : readOptions(options);
    const at = resolve(cwd, folder);
    const maxGapS = maxGapOption(options) ?? planned?.maxGapS ?? undefined;
    const gathered = gatherFolder(at, {
      ...read,
      band: bandOption(options) ?? planned?.band,
      maxGapS,
      shownAs: folder,
    });
    fill(document, gathered);
    requireRuns(gathered, folder);
    const target = resolve(cwd, session);
    const pathOf = (file: string) => slashes(relative(dirname(target), join(at, file)));
    if (planned) {
      const files = (options.sheet ?? []).map(name => ({file: name, text: readText(name, cwd)}));
      const filled = fillSession(planned, gathered, {sheets: files, pathOf});
      document.sheet = filled.sheet;
      fill(document, filled.gathered);
      writeNew(
        resolve(cwd, page),
        page,
        runsPage(filled.gathered, {folder, session: basename(session), pathOf}),
      );
      document.page = page;
      overwrite(target, session, filled.text);
      document.session = session;
      return {document, exitCode: 0};
    }
    const draft = draftSession(gathered, {
      schema: schemaFrom(dirname(target)),
      page: basename(page),
      pathOf,
      ...read,
      maxGapS,
    });
    writeNew(resolve(cwd, page), page, runsPage(gathered, {folder, session: basename(session), pathOf}));
    document.page = page;
    writeNew(target, session, draft);
    document.session = session;
    return {document, exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

function bandOption({from, to}: GatherCommandOptions): Band | undefined {
  if (from === undefined && to === undefined) return undefined;
  if (from === undefined || to === undefined) {
    throw wrongOption(
      `--${from === undefined ? "from" : "to"} is missing`,
      "give both ends of the band, --from 60km/h --to 110km/h, or neither to have one suggested",
    );
  }
  const band = bandOf(from, to);
  if (band.fromMps < band.toMps) return band;
  throw wrongOption(
    `the band falls from ${from} to ${to}, and a session compares pulls`,
    "give the lower speed as --from",
  );
}

/** Refuses where there is nothing to draft a session of. */
function requireRuns({logs, runs, skipped, band}: Gathered, folder: string): void {
  if (runs.some(({run}) => run !== null)) return;
  const reasons = skipped.slice(0, 3).map(({file, reason}) => `${file}: ${reason}`);
  const first = reasons.length > 0 ? `the first that were passed over: ${reasons.join(" | ")}` : undefined;
  if (logs.length === 0) {
    throw new InputError(1, {
      code: "no-logs",
      words: skipped.length === 0 ? "the folder is empty" : "no file in it can be read as a log",
      file: folder,
      hint: first ?? "copy the loggers' files into it",
    });
  }
  throw new InputError(1, {
    code: "no-runs",
    words:
      runs.length === 0
        ? `no pull was found in ${logs.length} ${logs.length === 1 ? "log" : "logs"}`
        : band
          ? `${countWords(runs.length)} found, but none is a pull through ${bandWords(band)}`
          : `${countWords(runs.length)} found, but no pull through 20 km/h between round speeds`,
    file: folder,
    hint:
      runs.length > 0
        ? "give another band with --from and --to"
        : (first ?? "see slice and inspect for what the logs hold"),
  });
}

function countWords(runs: number): string {
  return runs === 1 ? "1 run was" : `${runs} runs were`;
}

function requireNew(file: string, isThere: boolean): void {
  if (!isThere) return;
  throw new InputError(2, {
    code: "file-exists",
    words: "this file is there already, and gather overwrites nothing",
    file,
    hint: "name another session file with -o, or move this one away",
  });
}

/** The session at that place if it was planned and has no run yet, which is to be completed; null where there is none. */
function plannedSession(file: string, cwd: string, {sheet, from, to}: GatherCommandOptions): Session | null {
  if (!existsSync(resolve(cwd, file))) {
    if (sheet === undefined) return null;
    throw wrongOption(
      "--sheet belongs to a session that plan has locked, and there is none here",
      "name it with -o",
    );
  }
  const session = beforeRuns(file, cwd);
  if (session === null || session.runs.length > 0) {
    if (sheet === undefined) return null; // told as a file that is there already
    throw new InputError(2, {
      code: "sheet-merged",
      file,
      words: "the session holds runs already, and a sheet is merged once",
      hint: "mend the runs in the session, or start again from the session before its runs",
    });
  }
  if (from !== undefined || to !== undefined) {
    throw wrongOption("--from and --to give another band than the session was planned for", "leave them out");
  }
  return session;
}

/** The session, or null where it cannot be read and is left to be named as a file that is in the way. */
function beforeRuns(file: string, cwd: string): Session | null {
  try {
    return readSession(file, {cwd, beforeRuns: true});
  } catch (error) {
    if (error instanceof InputError) return null;
    throw error;
  }
}

function readOf(planned: Session, read: ReadLogOptions): ReadLogOptions {
  return {
    ...read,
    columns: {...planned.columns, ...read.columns},
    rateHz: read.rateHz ?? planned.rateHz ?? undefined,
    group: read.group ?? planned.group ?? undefined,
  };
}

function readText(file: string, cwd: string): string {
  try {
    return readFileSync(resolve(cwd, file), "utf8");
  } catch (error) {
    throw new InputError(2, {
      code: "sheet-unreadable",
      file,
      words: `the run sheet cannot be read (${(error as NodeJS.ErrnoException).code})`,
      hint: "check the path",
    });
  }
}

function overwrite(path: string, shownAs: string, text: string): void {
  try {
    writeFileSync(path, text);
  } catch (error) {
    throw new InputError(2, {
      code: "file-unwritable",
      words: `it cannot be written (${(error as NodeJS.ErrnoException).code})`,
      file: shownAs,
      hint: "make it writable",
    });
  }
}

function writeNew(path: string, shownAs: string, text: string): void {
  try {
    writeFileSync(path, text, {flag: "wx"});
  } catch (error) {
    const {code} = error as NodeJS.ErrnoException;
    requireNew(shownAs, code === "EEXIST");
    throw new InputError(2, {
      code: "file-unwritable",
      words: code === "ENOENT" ? "its folder is not there" : `it cannot be written (${code})`,
      file: shownAs,
      hint: "name another session file with -o",
    });
  }
}

function fill(
  document: GatherDocument,
  {band, bandGuessed, order, runs, logs, pairs, guesses, skipped}: Gathered,
): void {
  document.band = band && {
    from: fromSI(band.fromMps, band.unit),
    to: fromSI(band.toMps, band.unit),
    unit: band.unit,
    guessed: bandGuessed,
  };
  document.order = runs.length > 0 ? order : null;
  document.runs = runs.map(run => ({
    run: run.run,
    kind: run.kind,
    file: run.file,
    from_s: writtenSpan(run).fromS,
    to_s: writtenSpan(run).toS,
    span_written: run.needsSpan,
    start_kmh: run.startMps * 3.6,
    end_kmh: run.endMps * 3.6,
    direction: run.direction,
    heading_deg: run.headingDeg,
    gear: run.gear,
    rpm_per_kmh: run.ratioRpmPerMps === null ? null : run.ratioRpmPerMps / 3.6,
    at: run.at,
    told_by: run.toldBy,
    pass: run.pass && {
      start_s: run.pass.startS,
      elapsed_s: run.pass.elapsedS,
      elapsed_u_s: run.pass.elapsedUS,
    },
    flags: run.flags,
    left_out: run.leftOut,
  }));
  document.logs = logs.map(log => ({
    file: log.file,
    log_format: log.format,
    duration_s: log.timeS.length > 0 ? log.timeS[log.timeS.length - 1] - log.timeS[0] : 0,
    runs: runs.filter(run => run.log === log).length,
    sha256: log.sha256,
  }));
  document.pairs = pairs.map(({satellite, engine, alignment}) => ({
    satellite: satellite.file,
    engine: engine.file,
    lag_s: alignment.lagS,
    lag_u_s: alignment.lagUS,
    scale: alignment.scale,
    correlation: Math.min(1, alignment.correlation),
    next_best_correlation: alignment.runnerUp,
    overlap_s: alignment.overlapS,
  }));
  document.guesses = guesses;
  document.skipped = skipped;
}

/** Where an editor that has a session of this folder open finds the schema: the file of this installation. */
function schemaFrom(folder: string): string {
  // one folder up from cli/ in the sources, two from dist/cli/
  const beside = fileURLToPath(new URL("../schema/session.json", import.meta.url));
  const schema = existsSync(beside)
    ? beside
    : fileURLToPath(new URL("../../schema/session.json", import.meta.url));
  const path = relative(folder, schema);
  if (resolve(path) === path) return pathToFileURL(schema).href; // on another drive
  return encodeURI(slashes(path.startsWith("..") ? path : `./${path}`)); // a URI reference: no raw blanks
}

function slashes(path: string): string {
  return path.split(sep).join("/");
}

/** What the command prints for people. Times through the band are left out: runs are to be labelled before they are compared. */
function gatherText(document: GatherDocument): string {
  const {runs, guesses, skipped, session, page, folder} = document;
  const table = textTable(
    ["run", "kind", "file", "from s", "to s", "km/h", "way", "gear", "doubts"],
    runs.map(run => [
      run.run === null ? "–" : String(run.run),
      run.kind,
      run.file,
      run.from_s.toFixed(1),
      run.to_s.toFixed(1),
      `${Math.round(run.start_kmh)}–${Math.round(run.end_kmh)}`,
      run.direction ?? "",
      run.gear === null ? "" : String(run.gear),
      run.flags.join(", "),
    ]),
    [0, 3, 4, 5, 7],
  );
  const left = runs.filter(run => run.left_out !== null);
  const {sheet} = document;
  return [
    runs.length > 0 ? table : "",
    left.map(run => `left out: ${run.file}, ${run.from_s.toFixed(1)} s: ${run.left_out}\n`).join(""),
    guesses.map(guess => `${guessWords(guess)}\n`).join(""),
    skipped.map(({file, reason}) => `passed over: ${file}: ${reason}\n`).join(""),
    sheet === null
      ? ""
      : [`${sheet.file}: matched by ${sheet.by}, ${sheet.runs} runs`, ...sheet.notes]
          .map(line => `${line}\n`)
          .join(""),
    session === null
      ? ""
      : sheet !== null
        ? `${folder}: wrote the runs of the sheet into ${session}, and ${page}; next: fairpull judge ${session}\n`
        : `${folder}: ${runs.length - left.length} runs; wrote ${session} and ${page}; next: fill in question, worthwhile, arms and the arm of every run, then fairpull judge ${session}\n`,
  ]
    .filter(part => part !== "")
    .join("\n");
}

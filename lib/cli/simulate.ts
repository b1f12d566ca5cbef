import {createHash} from "node:crypto";
import {readFileSync} from "node:fs";
import {join, resolve} from "node:path";
import type {Command} from "commander";
import type {SimulateDocument} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import {simulateCoastDay} from "../simulate/coast-day.ts";
import {roadLoadRecord} from "../simulate/coast-files.ts";
import {COAST_SCENARIOS, type CoastScenario, coastScenarioNamed} from "../simulate/coast-scenario.ts";
import {simulateDay} from "../simulate/day.ts";
import type {DayScenario} from "../simulate/scenario.ts";
import {SCENARIOS, scenarioNamed} from "../simulate/scenarios.ts";
import {writeDay} from "../simulate/write.ts";
import {editDistance} from "../units/unit.ts";
import type {CommandIO} from "./io.ts";
import {wholeNumberOption, wrongOption} from "./options.ts";
import {tellAnswer} from "./output.ts";

export interface SimulateOptions {
  /** name of the scenario; without it, with `list` alone, nothing is driven */
  scenario?: string;
  /** folder to write, new or empty */
  folder?: string;
  list?: boolean;
  /** default the scenario's own, that of the committed data */
  seed?: number;
  /** replace the files of a simulated day in a folder that is there already */
  overwriteOwn?: boolean;
}

/** Test days first, then days of coastdowns. */
const ALL: readonly (DayScenario | CoastScenario)[] = [...SCENARIOS, ...COAST_SCENARIOS];

/** Writes a test day with known truth; a mistake of the user is in the document's `error`, with its exit code beside. */
export function simulateScenario(
  options: SimulateOptions,
  cwd: string,
): {
  document: SimulateDocument;
  exitCode: 0 | 1 | 2;
} {
  const document: SimulateDocument = {
    format: "fairpull.simulate/1",
    scenario: null,
    seed: null,
    folder: null,
    order: [],
    files: [],
    truth: null,
    scenarios: ALL.map(({name, words, seed}) => ({name, words, seed})),
  };
  try {
    if (options.list) return {document, exitCode: 0};
    const scenario = requireScenario(options.scenario);
    document.scenario = scenario.name;
    document.seed = options.seed ?? scenario.seed;
    const folder = requireFolder(options.folder);
    const day =
      "arms" in scenario ? simulateDay(scenario, document.seed) : simulateCoastDay(scenario, document.seed);
    const target = resolve(cwd, folder);
    document.files = writeDay(day, target, {overwriteOwn: options.overwriteOwn}).map(file => ({
      file,
      sha256: createHash("sha256")
        .update(readFileSync(join(target, file)))
        .digest("hex"),
    }));
    document.folder = folder;
    if ("roadLoad" in day.truth) document.road_load = roadLoadRecord(day.truth);
    else {
      document.order = day.runs.flatMap(run => ("arm" in run ? [run.arm] : []));
      const {effect, relativePower, bandTimeS} = day.truth;
      document.truth = {effect, relative_power: relativePower, band_time_s: bandTimeS};
    }
    return {document, exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

/** `fairpull simulate SCENARIO DIR` and `fairpull simulate --list`. */
export function registerSimulate(program: Command, io: CommandIO): void {
  program
    .command("simulate")
    .description(
      "write a test day whose truth is known; `simulate workshop DIR --table 7` writes the sealed day of a table, `simulate collect DIR` draws the class picture",
    )
    .argument("[scenario]", "one of those that --list names; or workshop, or collect")
    .argument("[dir]", "folder to write, new or empty; for workshop and collect that of the evening")
    .option("--list", "name the scenarios, and write nothing")
    .option("--seed <number>", "another day of the same scenario", text => wholeNumberOption("--seed", text))
    .option("--overwrite-own", "replace the files of a simulated day in DIR, and leave all others")
    .option("--table <number>", "workshop: the number of one table", text =>
      wholeNumberOption("--table", text),
    )
    .option("--tables <number>", "workshop: make tables 1 to this number", text =>
      wholeNumberOption("--tables", text),
    )
    .option("-o, --out <file>", "collect: the page to write (default: class.html in DIR)")
    .option("--json", "print one JSON document")
    .action(
      async (
        scenario: string | undefined,
        folder: string | undefined,
        options: Omit<SimulateOptions, "scenario" | "folder"> & ForWorkshop & {json?: boolean},
      ) => {
        if (scenario === "workshop" || scenario === "collect") {
          return tellWorkshop(scenario, {...options, folder}, io);
        }
        requireNoneOf(options);
        tellAnswer(io, simulateScenario({...options, scenario, folder}, io.cwd), options, simulateText);
      },
    );
}

interface ForWorkshop {
  table?: number;
  tables?: number;
  out?: string;
}

async function tellWorkshop(
  part: "workshop" | "collect",
  options: ForWorkshop & {folder?: string; seed?: number; json?: boolean},
  io: CommandIO,
): Promise<void> {
  const {collectWorkshop, simulateWorkshop} = await import("./simulate-workshop.ts"); // it draws pictures
  const {collectText, workshopText} = await import("./workshop-text.ts");
  if (part === "workshop") return tellAnswer(io, simulateWorkshop(options, io.cwd), options, workshopText);
  tellAnswer(io, await collectWorkshop(options, io.cwd), options, collectText);
}

function requireNoneOf(options: ForWorkshop): void {
  for (const name of ["table", "tables", "out"] as const) {
    if (options[name] === undefined) continue;
    throw wrongOption(
      `--${name} belongs to simulate ${name === "out" ? "collect" : "workshop"}`,
      "leave it out",
    );
  }
}

/** What the command prints for people. The truth is left to truth.json, so that one can judge the day before knowing it. */
function simulateText({scenario, seed, folder, files, scenarios}: SimulateDocument): string {
  if (scenario === null) {
    const width = Math.max(...scenarios.map(({name}) => name.length));
    return scenarios.map(({name, words}) => `${name.padEnd(width)}  ${words}\n`).join("");
  }
  const logs = files.filter(({file}) => file.endsWith(".csv")).length;
  return `${folder}: ${logs} runs of "${scenario}", seed ${seed}; next: fairpull judge ${join(folder!, "session.yaml")}\n`;
}

function requireScenario(name: string | undefined): DayScenario | CoastScenario {
  const names = ALL.map(scenario => scenario.name);
  if (name === undefined) {
    throw new InputError(2, {
      code: "option",
      words: "no scenario was named",
      hint: `give one of ${names.join(", ")} and a folder, or --list`,
    });
  }
  const scenario = scenarioNamed(name) ?? coastScenarioNamed(name);
  if (scenario) return scenario;
  const near = names.find(known => editDistance(known, name) <= Math.max(2, name.length / 3));
  throw new InputError(2, {
    code: "scenario-unknown",
    words: `there is no scenario "${name}"`,
    hint: near ? `did you mean "${near}"?` : `there are ${names.join(", ")}`,
  });
}

function requireFolder(folder: string | undefined): string {
  if (folder !== undefined && folder !== "") return folder;
  throw new InputError(2, {
    code: "option",
    words: "no folder was named to write the day into",
    hint: "name a new one behind the scenario",
  });
}

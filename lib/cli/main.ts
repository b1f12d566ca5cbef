import {Command, CommanderError} from "commander";
import {type ErrorWords, InputError} from "../result/error.ts";
import {VERSION} from "../result/version.ts";
import type {CommandIO} from "./io.ts";
import {documentText, tellError} from "./output.ts";

/** Adds one command to the program. */
type Register = (program: Command, io: CommandIO) => void;

/** The commands. Each is loaded only when it is named, since some of them carry a browser's worth of libraries. */
const COMMANDS: Record<string, () => Promise<Register>> = {
  inspect: async () => (await import("./inspect.ts")).registerInspect,
  slice: async () => (await import("./slice.ts")).registerSlice,
  gather: async () => (await import("./gather.ts")).registerGather,
  plan: async () => (await import("./plan.ts")).registerPlan,
  judge: async () => (await import("./judge.ts")).registerJudge,
  simulate: async () => (await import("./simulate.ts")).registerSimulate,
  new: async () => (await import("./new.ts")).registerNew,
  upgrade: async () => (await import("./upgrade.ts")).registerUpgrade,
  run: async () => (await import("./run.ts")).registerRun,
  publish: async () => (await import("./publish.ts")).registerPublish,
  verify: async () => (await import("./verify.ts")).registerVerify,
  kernel: async () => (await import("./kernel.ts")).registerKernel,
  doctor: async () => (await import("./doctor.ts")).registerDoctor,
};

/**
 * The command line.
 *
 * @param args words behind the program's name
 * @param io   streams and folder; default those of this process
 * @returns exit code: 0 = answered, 1 = nothing to judge, 2 = option, path or session file wrong
 */
export async function main(args: readonly string[], io: CommandIO = processIO()): Promise<number> {
  const name = args.find(word => !word.startsWith("-"));
  const known = name !== undefined && Object.hasOwn(COMMANDS, name);
  const program = new Command("fairpull")
    .description("Did the part change anything? From road logs to a verdict with an honest interval.")
    .version(VERSION)
    .exitOverride()
    .configureOutput({writeOut: text => io.stdout.write(text), writeErr: () => {}}); // errors are told below, once
  try {
    for (const load of known ? [COMMANDS[name]] : Object.values(COMMANDS)) (await load())(program, io);
    if (args.length === 0) {
      program.outputHelp();
      return 0;
    }
    await program.parseAsync([...args], {from: "user"});
    return io.exitCode || Number(process.exitCode ?? 0);
  } catch (error) {
    if (error instanceof CommanderError && error.exitCode === 0) return 0; // --help, --version
    const {words, exitCode} = inWords(error);
    tellError(io, words);
    if (exitCode === 1 && process.env["FAIRPULL_DEBUG"]) io.stderr.write(`${(error as Error).stack}\n`);
    if (args.includes("--json"))
      io.stdout.write(documentText({format: `fairpull.${known ? name : "error"}/1`, error: words}));
    return exitCode;
  }
}

/** What went wrong before or beside a command's own document. */
function inWords(error: unknown): {words: ErrorWords; exitCode: number} {
  if (error instanceof InputError) return {words: error.details, exitCode: error.exitCode};
  if (error instanceof CommanderError) {
    const words = error.message.replace(/^error: /, "").replace(/\s*\n\s*/g, " ");
    return {words: {code: "option", words, hint: "see fairpull --help"}, exitCode: 2};
  }
  const message = error instanceof Error ? error.message : String(error);
  return {
    words: {
      code: "internal",
      words: `internal error, ${message}`,
      hint: "run again with FAIRPULL_DEBUG=1 to see where",
    },
    exitCode: 1,
  };
}

function processIO(): CommandIO {
  // A reader that has seen enough (`| head`) is no error.
  process.stdout.on("error", (error: NodeJS.ErrnoException) => {
    if (error.code !== "EPIPE") throw error;
  });
  return {stdout: process.stdout, stderr: process.stderr, cwd: process.cwd(), exitCode: 0};
}

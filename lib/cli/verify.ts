import type {Command} from "commander";
import {unverified, type VerifyOptions, verifyPage} from "../publish/verify.ts";
import {InputError} from "../result/error.ts";
import type {VerifyDocument} from "../result/verify-document.ts";
import type {CommandIO} from "./io.ts";
import {tellAnswer} from "./output.ts";
import {fromFolder, secondsOption} from "./run.ts";

/** The document of `verify`; a mistake of the user is in its `error`. Exit code 0 = recomputed the same, 1 = differs or cannot run. */
export async function verifyOne(
  file: string,
  options: VerifyOptions = {},
): Promise<{document: VerifyDocument; exitCode: 0 | 1 | 2}> {
  try {
    const document = await verifyPage(file, options);
    return {document, exitCode: document.outcome === "same" ? 0 : 1};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...unverified(file), error: error.details}, exitCode: error.exitCode};
  }
}

/** `fairpull verify PAGE --data FOLDER`: computes a published page again and compares. */
export function registerVerify(program: Command, io: CommandIO): void {
  program
    .command("verify")
    .description(
      "compute a published page again and compare every number and the text; runs no code from the page",
    )
    .argument("<page>", "an HTML file written by fairpull publish")
    .option("--data <folder>", "the folder with the logs, for a page that does not carry them")
    .option(
      "--run-notebook",
      "also run the page's own cells, in a temporary folder (no sandbox: they have your rights)",
    )
    .option("--cell-time-limit <seconds>", "longest time one cell may take", secondsOption)
    .option("--json", "print one JSON document")
    .action(
      async (
        file: string,
        options: {data?: string; runNotebook?: boolean; cellTimeLimit?: number; json?: boolean},
      ) => {
        tellAnswer(
          io,
          await verifyOne(fromFolder(io, file), {
            data: options.data === undefined ? undefined : fromFolder(io, options.data),
            runNotebook: options.runNotebook,
            cellTimeLimitS: options.cellTimeLimit,
          }),
          options,
          verifyText,
        );
      },
    );
}

/** Differences printed; `--json` holds all of them. */
const PRINTED = 20;

function verifyText({
  words,
  differences,
  recomputed,
  not_recomputed,
  changed_cells,
  notes,
}: VerifyDocument): string {
  const lines = [words];
  for (const {where, page, recomputed: now, by} of differences.slice(0, PRINTED)) {
    lines.push(
      `  ${where}: page ${JSON.stringify(page)}, recomputed ${JSON.stringify(now)}${by === null ? "" : `, by ${by}`}`,
    );
  }
  if (differences.length > PRINTED) lines.push(`  and ${differences.length - PRINTED} more, see --json`);
  if (recomputed.length) lines.push(`computed again: ${recomputed.join(", ")}`);
  if (not_recomputed.length) {
    lines.push(
      `made by the notebook's own cells, not computed again (--run-notebook does): ${not_recomputed.join(", ")}`,
    );
  }
  if (changed_cells !== null) {
    lines.push(
      changed_cells.length
        ? `cells that are not those of the released template: ${changed_cells.join(", ")}`
        : "every cell is that of the released template",
    );
  }
  return `${[...lines, ...notes].join("\n")}\n`;
}

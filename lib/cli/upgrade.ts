import type {Command} from "commander";
import {InputError} from "../result/error.ts";
import type {UpgradeDocument} from "../result/template-documents.ts";
import type {MergeReport} from "../templates/merge.ts";
import {numbersThatChange} from "../templates/numbers-that-change.ts";
import {templateNamed} from "../templates/store.ts";
import {upgradeNotebook} from "../templates/upgrade.ts";
import type {CommandIO} from "./io.ts";
import {tellAnswer} from "./output.ts";

export interface UpgradeCommandOptions {
  dryRun?: boolean;
  json?: boolean;
  /** folder of the templates, for tests */
  templates?: string;
}

/** `fairpull upgrade DIR`: carries a notebook to the present version of its template. */
export function registerUpgrade(program: Command, io: CommandIO): void {
  program
    .command("upgrade")
    .description("carry a notebook to the present version of its template, and keep your words")
    .argument("<dir>", "the folder that `new` made, or the notebook itself")
    .option("--dry-run", "list what would be done, and write nothing")
    .option("--json", "print one JSON document")
    .action((path: string, options: UpgradeCommandOptions) => {
      tellAnswer(io, upgradeAt(path, options, io.cwd), options, upgradeText);
    });
}

/** The document of `upgrade`; a mistake of the user is in `error`, with the exit code beside. */
export function upgradeAt(
  path: string,
  {dryRun = false, templates}: UpgradeCommandOptions,
  cwd: string,
): {document: UpgradeDocument; exitCode: 0 | 1 | 2} {
  const empty: UpgradeDocument = {
    format: "fairpull.upgrade/1",
    notebook: null,
    template: null,
    from: null,
    to: null,
    dry_run: dryRun,
    backup: null,
    cells: null,
    open_conflicts: 0,
    numbers_that_change: [],
  };
  try {
    const {file, template, from, to, report, backup, conflicts} = upgradeNotebook(path, {
      dryRun,
      cwd,
      templates,
    });
    return {
      document: {
        ...empty,
        notebook: file,
        template,
        from,
        to,
        backup,
        cells: report && cellsRecord(report),
        open_conflicts: conflicts,
        numbers_that_change: numbersThatChange(templateNamed(template, templates), from),
      },
      exitCode: 0,
    };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...empty, error: error.details}, exitCode: error.exitCode};
  }
}

function cellsRecord({leftOut, ...lists}: MergeReport): UpgradeDocument["cells"] {
  return {...lists, left_out: leftOut};
}

function upgradeText(document: UpgradeDocument): string {
  const {notebook, template, from, to, dry_run, backup, cells, open_conflicts, numbers_that_change} =
    document;
  const waiting = open_conflicts > 0 ? `; ${open_conflicts} marked cells are to settle, then to delete` : "";
  if (cells === null) return `${notebook}: at ${template} ${to} already, nothing to do${waiting}\n`;
  const list = (words: string, ids: string[]) => (ids.length > 0 ? `  ${words}: ${ids.join(", ")}\n` : "");
  return [
    `${notebook}: ${template} ${from} → ${to}${dry_run ? " (nothing written)" : ""}${waiting}\n`,
    list("as in the template now", cells.updated),
    list("new", cells.added),
    list("taken out", cells.removed),
    list("changed on both sides, both shown", cells.conflicts),
    list("no longer in the template, kept since you changed them", cells.kept),
    list("changed in the template, left out since you took them out", cells.left_out),
    cells.order === "analyst" ? "  cells are in your order\n" : "",
    ...numbers_that_change.map(({version, words}) => `  numbers that change in ${version}: ${words}\n`),
    backup === null ? "" : `  as it was: ${backup}\n`,
  ].join("");
}

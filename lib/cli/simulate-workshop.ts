import {existsSync, readFileSync} from "node:fs";
import {join, resolve} from "node:path";
import {notebookText} from "../notebook/write.ts";
import {writeWhole} from "../publish/write-whole.ts";
import {InputError} from "../result/error.ts";
import type {CollectDocument, WorkshopDocument} from "../result/workshop-documents.ts";
import {collectEvening} from "../simulate/workshop/collect.ts";
import {INSTRUCTOR_FOLDER, makeTables, TRUTHS_FILE} from "../simulate/workshop/evening.ts";
import {MOST_TABLES, type TableDay} from "../simulate/workshop/table-day.ts";
import {withSetting} from "../templates/settings.ts";
import {templateNamed} from "../templates/store.ts";
import {CLASS_PAGE, classPage} from "./class-page.ts";
import {wrongOption} from "./options.ts";

export interface WorkshopOptions {
  folder?: string;
  /** number of one table */
  table?: number;
  /** makes tables 1 to this */
  tables?: number;
  seed?: number;
}

/** The notebook in which a table judges its day. */
const CLOSING_LESSON = "workshop/7-judge-your-own-day";

/** Makes the sealed test days of tables; a mistake of the user is in the document's `error`. */
export function simulateWorkshop(
  {folder, table, tables, seed}: WorkshopOptions,
  cwd: string,
): {document: WorkshopDocument; exitCode: 0 | 1 | 2} {
  const document: WorkshopDocument = {
    format: "fairpull.workshop/1",
    folder: null,
    instructor: null,
    tables: [],
  };
  try {
    if (folder === undefined)
      throw wrongOption("no folder was named for the evening", "name one behind workshop");
    const numbers = tableNumbers({table, tables});
    const closing = templateNamed(CLOSING_LESSON).notebook;
    const sited = withSetting(withSetting(closing, "session", "session.yaml"), "handIn", "verdict.json");
    const more = (of: TableDay) =>
      new Map([
        ["notebook.ipynb", notebookText(sited)],
        ["README.md", readme(of)],
      ]);
    const made = makeTables(resolve(cwd, folder), numbers, {name: folder, seed, more});
    return {
      document: {
        ...document,
        folder,
        instructor: join(folder, INSTRUCTOR_FOLDER, TRUTHS_FILE),
        tables: made.map(({table: number, folder: own, files}) => ({
          table: number,
          folder: join(folder, own),
          session: join(folder, own, "session.yaml"),
          notebook: join(folder, own, "notebook.ipynb"),
          runs: files.filter(file => file.endsWith(".csv")).length,
        })),
      },
      exitCode: 0,
    };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

/** Gathers verdicts and writes the class picture; a mistake of the user is in the document's `error`. */
export async function collectWorkshop(
  {folder, out}: {folder?: string; out?: string},
  cwd: string,
): Promise<{document: CollectDocument; exitCode: 0 | 1 | 2}> {
  const document: CollectDocument = {
    format: "fairpull.collect/1",
    folder: null,
    seed: null,
    level: 0.95,
    page: null,
    tables: [],
    summary: null,
    problems: [],
  };
  try {
    if (folder === undefined)
      throw wrongOption("no folder was named", "name that of the evening behind collect");
    Object.assign(document, {folder}, collectEvening(resolve(cwd, folder), {name: folder}));
    if (document.tables.length === 0) {
      throw new InputError(1, {
        code: "evening-empty",
        file: folder,
        words: "the evening has no table yet",
        hint: "make one: fairpull simulate workshop DIR --table 1",
      });
    }
    const page = out ?? join(folder, "class.html");
    requireOwnPage(resolve(cwd, page), page);
    await writeWhole(resolve(cwd, page), await classPage(document));
    return {document: {...document, page}, exitCode: document.summary?.verdicts === 0 ? 1 : 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

function tableNumbers({table, tables}: {table?: number; tables?: number}): number[] {
  if ((table === undefined) === (tables === undefined)) {
    throw wrongOption(
      table === undefined ? "no table was named" : "--table and --tables exclude each other",
      "give --table 7 for one table, or --tables 8 for tables 1 to 8",
    );
  }
  const [option, number] = table === undefined ? ["--tables", tables!] : ["--table", table];
  if (!(number >= 1 && number <= MOST_TABLES))
    throw wrongOption(`${option} is ${number}, but a number from 1 to ${MOST_TABLES} is needed`);
  return table === undefined ? Array.from({length: number}, (_, i) => i + 1) : [number];
}

function requireOwnPage(path: string, name: string): void {
  if (!existsSync(path) || readFileSync(path, "utf8").includes(CLASS_PAGE)) return;
  throw new InputError(2, {
    code: "file-exists",
    file: name,
    words: "this file is there and is no class picture, and collect overwrites nothing",
    hint: "name another with -o, or move this one away",
  });
}

function readme({table, day}: TableDay): string {
  return [
    `# Table ${table}`,
    "",
    `- ${day.scenario.question}`,
    "- `session.yaml` and the logs are your sealed test day: you see letters, not the part.",
    "- `notebook.ipynb` is your lesson. Open it in Jupyter, or run `fairpull publish notebook.ipynb -o page.html`.",
    "- It writes `verdict.json`: hand that file in. (`fairpull judge session.yaml --json > verdict.json` makes one, too.)",
    "",
  ].join("\n");
}

import {join, relative} from "node:path";
import type {Command} from "commander";
import {InputError} from "../result/error.ts";
import type {NewDocument} from "../result/template-documents.ts";
import {newFolder} from "../templates/new.ts";
import {listTemplates} from "../templates/store.ts";
import {gatherRuns} from "./gather.ts";
import type {CommandIO} from "./io.ts";
import {tellAnswer, textTable} from "./output.ts";

export interface NewCommandOptions {
  question?: string;
  folder?: string;
  list?: boolean;
  /** folder of the analyst's own logs */
  logs?: string;
}

/** `fairpull new QUESTION DIR` and `fairpull new --list`. */
export function registerNew(program: Command, io: CommandIO): void {
  program
    .command("new")
    .description("make a folder to work in: the notebook of a question, a session, a short README")
    .argument("[question]", "one of those that --list names")
    .argument("[dir]", "folder to make, new or empty")
    .option("--list", "name the questions, and make nothing")
    .option(
      "--logs <folder>",
      "draft the session from these logs; without it a copy of the demo data is laid in",
    )
    .option("--json", "print one JSON document")
    .action(
      (
        question: string | undefined,
        folder: string | undefined,
        options: Omit<NewCommandOptions, "question" | "folder"> & {json?: boolean},
      ) => {
        tellAnswer(io, makeFolder({...options, question, folder}, io.cwd), options, newText);
      },
    );
}

/** The document of `new`; a mistake of the user is in `error`, with the exit code beside. */
export function makeFolder(
  {question, folder, list, logs}: NewCommandOptions,
  cwd: string,
): {document: NewDocument; exitCode: 0 | 1 | 2} {
  const document: NewDocument = {
    format: "fairpull.new/1",
    template: null,
    version: null,
    folder: null,
    notebook: null,
    session: null,
    readme: null,
    questions: listTemplates().map(({name, title, version}) => ({name, title, version})),
  };
  try {
    if (list) return {document, exitCode: 0};
    if (question === undefined || folder === undefined) {
      throw new InputError(2, {
        code: "option",
        words: question === undefined ? "no question was named" : "no folder was named to make",
        hint: "write fairpull new QUESTION DIR; fairpull new --list names the questions",
      });
    }
    const draft = logs === undefined ? undefined : (session: string) => draftFrom(logs, session, cwd);
    const made = newFolder(question, folder, {cwd, draft});
    return {document: {...document, ...made}, exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

/** Drafts the session as `gather` does. */
function draftFrom(logs: string, session: string, cwd: string): void {
  const {document, exitCode} = gatherRuns(logs, {out: session}, cwd);
  if (document.error) throw new InputError(exitCode === 2 ? 2 : 1, document.error);
}

function newText({template, folder, notebook, session, questions}: NewDocument): string {
  if (template === null) {
    return textTable(
      ["question", "what the notebook does", "version"],
      questions.map(({name, title, version}) => [name, title, version]),
    );
  }
  const made = [notebook, session].filter(file => file !== null).map(file => relative(folder!, file!));
  return `${folder}: ${made.join(", ")}; next: fairpull publish ${join(folder!, "notebook.ipynb")}\n`;
}

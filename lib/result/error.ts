/** What a document carries when a command could not answer (exit code 1 or 2). */
export interface ErrorWords {
  /** stable short name of the mistake, for scripts: "log-unreadable", "unknown-unit", … */
  code: string;
  /** what was found and which rule it breaks, one sentence without a full stop */
  words: string;
  file?: string;
  /** line in the file, counted from 1 */
  line?: number;
  /** column in the line, counted from 1, or the name of the log column */
  column?: number | string;
  /** run of the session, counted from 1 */
  run?: number;
  /** what to do next */
  hint?: string;
}

/**
 * A mistake in the input, told to its user: file, place, what was found, what to do.
 * `exitCode` 1 = there is nothing to judge (the data), 2 = an option, a path or the session file is wrong.
 */
export class InputError extends Error {
  readonly exitCode: 1 | 2;
  readonly details: ErrorWords;

  constructor(exitCode: 1 | 2, details: ErrorWords) {
    super(inputErrorText(details));
    this.name = "InputError";
    this.exitCode = exitCode;
    this.details = details;
  }
}

/** One line of text for people: place, words, hint. */
export function inputErrorText(details: ErrorWords): string {
  const {file, line, column, run, words, hint} = details;
  const place = [
    file,
    line === undefined ? undefined : `line ${line}`,
    column === undefined ? undefined : typeof column === "number" ? `column ${column}` : `column "${column}"`,
    run === undefined ? undefined : `run ${run}`,
  ].filter(part => part !== undefined);
  return `${place.length ? `${place.join(", ")}: ` : ""}${words}${hint ? `; ${hint}` : ""}`;
}

import {type Document, LineCounter, parseDocument} from "yaml";
import type {z} from "zod";
import {InputError} from "../result/error.ts";
import {editDistance} from "../units/unit.ts";
import {type Place, placeOf, placeOfKey} from "./yaml-place.ts";

/** A session file as YAML, and the way to refuse it with line and column. */
export interface SessionYaml {
  document: Document;
  lines: LineCounter;
  written: Record<string, unknown>;
  fail: (code: string, place: Place, words: string, hint?: string) => never;
}

type Unknown = z.core.$ZodIssueUnrecognizedKeys;
type Words = [words: string, hint?: string];

/** Parses a session file of any kind. @throws {InputError} exit code 2: not YAML, a key twice, or no keys at all */
export function openYaml(bytes: Uint8Array, file: string): SessionYaml {
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
  const start = {line: 1, column: 1};
  let written: unknown;
  try {
    written = document.toJS({maxAliasCount: 50});
  } catch (error) {
    fail("session-not-yaml", start, `not a session file: ${(error as Error).message}`);
  }
  if (typeof written !== "object" || written === null || Array.isArray(written)) {
    fail(
      "session-not-yaml",
      start,
      "not a session file: it holds no keys",
      'a session starts with "fairpull: 1"',
    );
  }
  return {document, lines, written: written as Record<string, unknown>, fail};
}

/**
 * What is written, by the schema of its kind of test.
 *
 * @param elsewhere words for a key that something else than this kind of session knows; null where it is simply unknown
 * @throws {InputError} exit code 2 with line and column: the mistake that stands first, a misspelt key before a missing one
 */
export function bySchema<Out>(
  schema: z.ZodType<Out>,
  written: unknown,
  {document, lines, fail}: Omit<SessionYaml, "written">,
  elsewhere: (issue: Unknown) => Words | null = () => null,
): Out {
  const parsed = schema.safeParse(written);
  if (parsed.success) return parsed.data;
  const placeOfIssue = (issue: z.core.$ZodIssue): Place =>
    issue.code === "unrecognized_keys"
      ? placeOfKey(document, lines, issue.path, issue.keys[0])
      : placeOf(document, lines, issue.path);
  const issue = firstByPlace(parsed.error.issues, placeOfIssue);
  return fail(
    issue.code === "unrecognized_keys" ? "session-unknown-key" : "session-value",
    placeOfIssue(issue),
    ...(issue.code === "unrecognized_keys"
      ? (elsewhere(issue) ?? unknownWords(issue, schema))
      : valueWords(issue)),
  );
}

/** A path of keys as people write it: "runs[2].conditions". */
export function keyPath(path: readonly PropertyKey[]): string {
  return path
    .map(part => (typeof part === "number" ? `[${part + 1}]` : `.${String(part)}`))
    .join("")
    .replace(/^\./, "");
}

/** Refuses a span that ends before it starts, and the same span of a log named twice. */
export function checkSpans<
  Run extends {run: number; file: string; fromS: number | null; toS: number | null; line: number},
>(runs: readonly Run[], refuse: (run: Run, key: "file" | "to", words: string, hint: string) => never): void {
  const seen = new Map<string, Run>();
  for (const run of runs) {
    if (run.fromS !== null && run.toS !== null && run.toS <= run.fromS) {
      refuse(
        run,
        "to",
        `run ${run.run} ends at ${run.toS} s, not after its start at ${run.fromS} s`,
        "exchange from and to",
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

function unknownWords({path, keys: [key]}: Unknown, schema: z.ZodType): Words {
  const known = knownKeys(schema, path);
  const near = nearest(key, known);
  const where = path.length > 0 ? ` in ${keyPath(path)}` : "";
  return [
    `"${key}"${where} is not a key of a session`,
    near ? `did you mean "${near}"?` : `known here: ${known.join(", ")}`,
  ];
}

function valueWords(issue: z.core.$ZodIssue): Words {
  const path = keyPath(issue.path);
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
function knownKeys(whole: z.ZodType, path: readonly PropertyKey[]): string[] {
  let schema: unknown = whole;
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

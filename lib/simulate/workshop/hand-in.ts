import {existsSync, readFileSync, writeFileSync} from "node:fs";
import type {JudgeDocument} from "../../result/documents.ts";

/**
 * Hands a verdict in: writes the document of `judge` beside the session, for `fairpull simulate collect`. The first verdict stands: one
 * that is there and says something else is not replaced.
 *
 * @param file to write, from the notebook's folder; null = nothing is written
 * @returns what was done, in words for the page
 */
export function handIn(result: JudgeDocument, file: string | null): string {
  if (file === null) return "Nothing is handed in from here: this is the practice table.";
  if (!existsSync(file)) {
    writeFileSync(file, `${JSON.stringify(result, null, 2)}\n`, {flag: "wx"});
    return `Handed in: \`${file}\` holds your verdict. Tell the instructor.`;
  }
  return sameVerdict(readFileSync(file, "utf8"), result)
    ? `Handed in: \`${file}\` holds this verdict.`
    : `\`${file}\` holds another verdict, handed in before, and that one stands. If your table agrees to take it back, delete the file and run this cell again.`;
}

function sameVerdict(text: string, {effect, verdict}: JudgeDocument): boolean {
  try {
    const held = JSON.parse(text) as Partial<JudgeDocument>;
    return held.verdict?.state === verdict.state && held.effect?.estimate === effect.estimate;
  } catch {
    return false;
  }
}

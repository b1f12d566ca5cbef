import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {testReport} from "../judge/report.ts";
import type {ChannelDocument} from "../result/channel-document.ts";
import type {JudgeDocument} from "../result/documents.ts";
import type {Session} from "../result/session.ts";
import type {TestReport} from "../result/test-report.ts";
import {readChannelSession} from "../run/channel-session.ts";
import {testOfSession} from "../run/coastdown-session.ts";
import {readSession} from "../run/session.ts";

/** The reporting checklist of a result, or null where the test is of a kind that has none. */
export function reportOf(
  text: string,
  file: string,
  result: JudgeDocument | ChannelDocument,
): TestReport | null {
  if (result.test !== "comparison") return null;
  return testReport(sessionOf(text, file), result);
}

/**
 * Reads the text of a session file that a page carries.
 *
 * @param file the name to give it in messages and results
 * @param folder folder that its logs are named from; without it the session names no folder that exists
 * @throws {InputError} as `readSession`
 */
export function sessionOf(text: string, file: string, folder?: string): Session {
  const beside = mkdtempSync(path.join(tmpdir(), "fairpull-session-"));
  try {
    writeFileSync(path.join(beside, "session.yaml"), text);
    const place = path.join(beside, "session.yaml");
    const session = testOfSession(place) === "channels" ? readChannelSession(place) : readSession(place);
    return {...session, file, folder: folder ?? beside};
  } finally {
    rmSync(beside, {recursive: true, force: true});
  }
}

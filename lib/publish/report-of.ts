import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {testReport} from "../judge/report.ts";
import type {ResultDocument} from "../result/result-document.ts";
import type {Session} from "../result/session.ts";
import type {TestReport} from "../result/test-report.ts";
import {readChannelSession} from "../run/channel-session.ts";
import {type CoastdownSession, readCoastdownSession, testOfSession} from "../run/coastdown-session.ts";
import {readRepeatabilitySession} from "../run/repeatability-session.ts";
import {readSession} from "../run/session.ts";

/** A session of any kind of test that a page can carry. */
export type PageSession = Session | CoastdownSession;

/** The reporting checklist of a result, or null where the test is of a kind that has none. */
export function reportOf(text: string, file: string, result: ResultDocument): TestReport | null {
  if (result.test !== "comparison") return null;
  return testReport(sessionOf(text, file) as Session, result);
}

/** What reads a session of each kind but a comparison. */
const READERS: Record<string, (file: string) => PageSession> = {
  channels: readChannelSession,
  coastdown: readCoastdownSession,
  repeatability: readRepeatabilitySession,
};

/**
 * Reads the text of a session file that a page carries, of any kind of test.
 *
 * @param file the name to give it in messages and results
 * @param folder folder that its logs are named from; without it the session names no folder that exists
 * @throws {InputError} as `readSession`
 */
export function sessionOf(text: string, file: string, folder?: string): PageSession {
  const beside = mkdtempSync(path.join(tmpdir(), "fairpull-session-"));
  try {
    const place = path.join(beside, "session.yaml");
    writeFileSync(place, text);
    const session = READERS[testOfSession(place) ?? ""]?.(place) ?? readSession(place);
    return {...session, file, folder: folder ?? beside};
  } finally {
    rmSync(beside, {recursive: true, force: true});
  }
}

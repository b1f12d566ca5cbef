import {createHash} from "node:crypto";
import {readFileSync} from "node:fs";
import {join} from "node:path";
import {recordInput} from "../log/record-input.ts";
import type {Session} from "../result/session.ts";

/**
 * The true effect of a simulated day, from the `truth.json` that stands beside its session.
 *
 * @returns changed − baseline in the unit named, or null where there is no such file (every real day)
 */
export function readTruth(session: Session): {value: number; unit: string} | null {
  const path = join(session.folder, "truth.json");
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch {
    return null;
  }
  recordInput(path, createHash("sha256").update(text).digest("hex"));
  const {effect} = JSON.parse(text) as {effect?: {value?: unknown; unit?: unknown}};
  if (typeof effect?.value !== "number" || typeof effect.unit !== "string") return null;
  return {value: effect.value, unit: effect.unit};
}

import {createHash} from "node:crypto";
import type {ArmName} from "../result/session.ts";

/** Which arm each coded letter stands for. */
export type SealLetters = Record<"A" | "B", ArmName>;

/** What the helper keeps: with the salt nobody can find the letters by trying both. */
export interface SealKey {
  format: "fairpull.seal/1";
  /** 64 hexadecimal digits, drawn by lot */
  salt: string;
  letters: SealLetters;
  /** lock of the plan that the seal belongs to */
  locked: string;
}

/** "sha256:" and 64 hexadecimal digits. */
export function sha256Text(text: string): string {
  return `sha256:${createHash("sha256").update(text, "utf8").digest("hex")}`;
}

/**
 * JSON in one form only: keys in the order of their code units, no blanks, keys without a value left out. Two values that mean the same
 * have the same text, so that a hash over it stands for the value (RFC 8785 for what a session can hold).
 *
 * @throws {RangeError} a number that is not finite, or what JSON cannot hold
 */
export function canonicalJson(value: unknown): string {
  if (value === null || typeof value === "boolean" || typeof value === "string") return JSON.stringify(value);
  if (typeof value === "number" && Number.isFinite(value)) return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(",")}]`;
  if (typeof value === "object") {
    const entries = Object.entries(value).filter(([, held]) => held !== undefined);
    entries.sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0));
    return `{${entries.map(([key, held]) => `${JSON.stringify(key)}:${canonicalJson(held)}`).join(",")}}`;
  }
  throw new RangeError(`canonicalJson: ${String(value)} has no place in JSON`);
}

/** Keys of a session that a plan fixes beside itself. */
export const FIXED_KEYS = ["question", "primary", "worthwhile", "band", "arms", "better"] as const;

/** Those keys of a session as they are written; a key that the session leaves out is left out. */
export function fixedOf(written: Readonly<Record<string, unknown>>): Record<string, unknown> {
  return Object.fromEntries(
    FIXED_KEYS.filter(key => written[key] !== undefined).map(key => [key, written[key]]),
  );
}

/**
 * The lock of a plan: SHA-256 over canonical JSON of what it fixes (question, primary, worthwhile, band, arms) and of the plan without
 * its lock.
 *
 * @param fixed as `fixedOf` gives them
 * @param plan  the plan as it is written
 */
export function planLock(
  fixed: Readonly<Record<string, unknown>>,
  plan: Readonly<Record<string, unknown>>,
): string {
  const {locked: _, ...rest} = plan;
  return sha256Text(canonicalJson({...fixed, plan: rest}));
}

/** The commitment to a key, to be printed before the runs: it fixes the letters and does not tell them. */
export function sealCommitment({salt, letters, locked}: Omit<SealKey, "format">): string {
  return sha256Text(canonicalJson({salt, letters, locked}));
}

/** Reads a key file. Returns why it is none, in words, where it is none. */
export function readSealKey(text: string): SealKey | string {
  let key: Partial<SealKey> | null;
  try {
    key = JSON.parse(text) as Partial<SealKey> | null;
  } catch {
    return "it is not JSON";
  }
  if (typeof key !== "object" || key === null || key.format !== "fairpull.seal/1") {
    return 'it is no key: "format" is not "fairpull.seal/1"';
  }
  const {salt, letters, locked} = key;
  if (typeof salt !== "string" || !/^[0-9a-f]{64}$/.test(salt))
    return "its salt is not 64 hexadecimal digits";
  const arms = [letters?.A, letters?.B];
  if (!arms.includes("baseline") || !arms.includes("changed"))
    return "its letters do not stand for the two arms";
  if (typeof locked !== "string") return "it does not say which plan it belongs to";
  return {format: "fairpull.seal/1", salt, letters: {A: letters!.A, B: letters!.B}, locked};
}

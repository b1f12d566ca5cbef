import {readFileSync} from "node:fs";
import {resolve} from "node:path";
import {sessionHash} from "../judge/seal.ts";
import {InputError} from "../result/error.ts";
import type {Session} from "../result/session.ts";
import {loadDay} from "../run/day.ts";
import {readSealKey, sealCommitment} from "../trial/seal.ts";
import {writeKeys} from "./plan-write.ts";

/**
 * Opens the seal of a session: checks the key against the commitment, and writes letters, salt and a hash of the session as it is now
 * into it, so that anybody can check both. A seal that is open already stays as it is.
 *
 * @param session as read by `readSession`
 * @returns true where it was opened now, and the session is to be read again
 * @throws {InputError} exit code 2: no seal, no key file, another key
 */
export function openSeal(session: Session, keyFile: string, cwd: string): boolean {
  const refuse = (code: string, words: string, hint: string): never => {
    throw new InputError(2, {code, file: code === "no-seal" ? session.file : keyFile, words, hint});
  };
  const {seal, plan} = session;
  if (seal === null) {
    return refuse(
      "no-seal",
      "the labels of this session are not sealed, so there is nothing to open",
      "leave out --open",
    );
  }
  const key = readSealKey(keyText(keyFile, cwd));
  if (typeof key === "string")
    return refuse("key-wrong", `${key}`, "give the file that plan --seal wrote for the helper");
  if (key.locked !== plan?.locked) {
    return refuse(
      "key-wrong",
      "it is the key of another plan, or the plan's lock was changed after sealing",
      "give the key that was made with this session",
    );
  }
  if (sealCommitment(key) !== seal.commitment) {
    return refuse(
      "key-wrong",
      "the key does not fit the commitment in the session: it is another key, or one of the two was changed",
      "compare the commitment with the one on the run sheet",
    );
  }
  if (seal.letters !== null) return false;
  const opened = sessionHash(session.written, loadDay(session).inputs);
  writeKeys(session.file, cwd, {
    seal: {commitment: seal.commitment, letters: key.letters, salt: key.salt, opened},
  });
  return true;
}

function keyText(file: string, cwd: string): string {
  try {
    return readFileSync(resolve(cwd, file), "utf8");
  } catch (error) {
    const {code} = error as NodeJS.ErrnoException;
    throw new InputError(2, {
      code: "key-unreadable",
      file,
      words: code === "ENOENT" ? "there is no key of this name" : `the key cannot be read (${code})`,
      hint: "a lost key cannot be made again: the blind verdict stands, and to know which letter is the part the helper's word or a new test is needed",
    });
  }
}

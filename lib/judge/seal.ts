import type {CheckRecord} from "../result/documents.ts";
import type {ArmName, Plan, Seal, SessionRun} from "../result/session.ts";
import {binomialTail} from "../stats/binomial-tail.ts";
import {canonicalJson, sealCommitment, sha256Text} from "../trial/seal.ts";

/** What of a session sealed labels are about. */
export interface SessionLabels {
  plan: Plan | null;
  seal: Seal | null;
  runs: readonly SessionRun[];
  written: Readonly<Record<string, unknown>>;
}

/** True while nobody can tell from the session which letter is which arm. */
export function isBlind({seal}: {seal: Seal | null}): boolean {
  return seal !== null && seal.letters === null;
}

/** The place of an arm in the draw: that of its letter, A = baseline. */
export function asSealed(arm: ArmName, seal: Seal | null): ArmName {
  return seal?.letters?.A === "changed" ? (arm === "changed" ? "baseline" : "changed") : arm;
}

/**
 * Hash of a session and its logs without the seal: what is noted when the seal is opened, so that a later change is seen.
 *
 * @param inputs the logs with their SHA-256
 */
export function sessionHash(
  written: Readonly<Record<string, unknown>>,
  inputs: readonly {file: string; sha256: string}[],
): string {
  const {seal: _, ...rest} = written;
  const logs = inputs.filter(({file}) => !/\.ya?ml$/i.test(file)).map(({file, sha256}) => ({file, sha256}));
  logs.sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0));
  return sha256Text(canonicalJson({session: rest, logs}));
}

/** Whether an opened seal fits what was committed to before the runs. */
export function fitsCommitment({letters, salt, commitment}: Seal, locked: string | null): boolean {
  return (
    letters !== null &&
    salt !== null &&
    locked !== null &&
    sealCommitment({letters, salt, locked}) === commitment
  );
}

/**
 * What the seal of a session says, one row; none where the labels were not sealed. Letters that do not fit the commitment fail: then
 * nobody knows what was compared.
 */
export function sealChecks(
  session: SessionLabels,
  inputs: readonly {file: string; sha256: string}[],
): CheckRecord[] {
  const {seal} = session;
  if (seal === null) return [];
  const finding = (outcome: CheckRecord["outcome"], words: string): CheckRecord[] => [
    {
      name: "sealed labels",
      outcome,
      words,
      rule: "the letters were fixed by a commitment before the runs, and nothing changes after they are opened",
    },
  ];
  const short = `${seal.commitment.slice(0, 19)}…`;
  if (isBlind(session)) {
    return finding(
      "held",
      `judged blind: baseline stands for the letter A and changed for B, and which of them has the part is sealed (${short})`,
    );
  }
  if (!fitsCommitment(seal, session.plan?.locked ?? null)) {
    return finding(
      "failed",
      `the letters in the session do not fit the commitment ${short}: they are not those of before the runs`,
    );
  }
  const guesses = guessWords(session.runs, seal);
  const fits = `the letters fit the commitment ${short} made before the runs${guesses}`;
  if (seal.opened === null) return finding("doubtful", `${fits}; when they were opened is not noted`);
  if (seal.opened !== sessionHash(session.written, inputs)) {
    return finding("doubtful", `${fits}; the session or a log was changed after the seal was opened`);
  }
  return finding("held", `${fits}; session and logs are as they were when the seal was opened`);
}

/** How well the driver told the arms: what a blind test can say of its blindness. */
function guessWords(runs: readonly SessionRun[], seal: Seal): string {
  const guessed = runs.filter(({guess}) => guess !== null);
  if (guessed.length === 0) return "";
  const armOf = (guess: string) => (guess === "A" || guess === "B" ? seal.letters![guess] : guess);
  const right = guessed.filter(({guess, arm}) => armOf(guess!) === arm).length;
  const chance = binomialTail(right, guessed.length);
  return `; the driver guessed ${right} of ${guessed.length} right, as many or more by chance alone on ${Number((100 * chance).toPrecision(2))} % of days`;
}

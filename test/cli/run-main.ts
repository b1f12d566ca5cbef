import {main} from "../../lib/cli/main.ts";

/** What a command line printed, and its exit code. */
export interface Printed {
  out: string;
  err: string;
  code: number;
}

/** Runs the command line in a folder, without a process. */
export async function runMain(cwd: string, ...args: string[]): Promise<Printed> {
  const printed = {out: "", err: ""};
  const code = await main(args, {
    stdout: {write: text => (printed.out += text)},
    stderr: {write: text => (printed.err += text)},
    cwd,
    exitCode: 0,
  });
  return {...printed, code};
}

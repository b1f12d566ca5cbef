import {spawn} from "node:child_process";

/**
 * Runs a script with this node and waits for it; no shell, so blanks in paths need no quoting.
 *
 * @param {string[]} args script and its arguments
 * @param {{cwd: string, output?: "inherit" | "stderr"}} options "stderr" keeps standard output free for the job itself
 * @returns {Promise<number>} its exit code; 1 if a signal ended it or it could not be started
 */
export function runNode(args, {cwd, output = "inherit"}) {
  return new Promise(done => {
    const child = spawn(process.execPath, args, {
      cwd,
      stdio: output === "stderr" ? ["ignore", process.stderr, "inherit"] : "inherit",
    });
    // Ctrl-C reaches the child too; we stay until it has tidied up, and pass on what was sent to us alone.
    const ignore = () => {};
    const passOn = () => child.kill("SIGTERM");
    process.on("SIGINT", ignore).on("SIGTERM", passOn);
    /** @param {number} code */
    const end = code => {
      process.off("SIGINT", ignore).off("SIGTERM", passOn);
      done(code);
    };
    child.on("error", error => {
      process.stderr.write(`fairpull: ${args[0]} could not be started: ${error.message}\n`);
      end(1);
    });
    child.on("exit", code => end(code ?? 1));
  });
}

/** Where a command reads and writes; tests put others in its place. */
export interface CommandIO {
  stdout: {write(text: string): unknown};
  stderr: {write(text: string): unknown};
  /** folder that relative paths start from */
  cwd: string;
  /** 0 = answered, 1 = nothing to judge, 2 = option, path or session file wrong; set by the command */
  exitCode: 0 | 1 | 2;
}

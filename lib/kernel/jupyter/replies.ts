import {VERSION} from "../../result/version.ts";
import {COMPILER_VERSION, isCompleteCode, TSLAB_VERSION} from "../tslab.ts";
import {PROTOCOL_VERSION} from "./wire.ts";

/** Content of a `kernel_info_reply`: what front-ends show and how they colour the code. */
export const KERNEL_INFO = {
  status: "ok",
  protocol_version: PROTOCOL_VERSION,
  implementation: "fairpull",
  implementation_version: VERSION,
  language_info: {
    name: "typescript",
    version: COMPILER_VERSION,
    mimetype: "text/typescript",
    file_extension: ".ts",
    pygments_lexer: "typescript",
    // the name is what Notebook 6 looks for, the mode what JupyterLab does
    codemirror_mode: {name: "javascript", mode: "typescript", typescript: true},
    nbconvert_exporter: "script",
  },
  banner: `TypeScript ${COMPILER_VERSION} with tslab ${TSLAB_VERSION}, Node ${process.versions.node}`,
  help_links: [],
  debugger: false,
};

/** Content of an `is_complete_reply`. */
export function isCompleteReply(code: string): object {
  const {completed, indent} = isCompleteCode(code);
  return completed ? {status: "complete"} : {status: "incomplete", indent: indent ?? ""};
}

/** One input of this session: the number of the session is always 1, since nothing is kept from earlier ones. */
export interface HistoryEntry {
  count: number;
  code: string;
}

/** Content of a `history_reply`: the last `n`, a range, or what a pattern with * and ? fits. */
export function historyReply(entries: readonly HistoryEntry[], request: Record<string, unknown>): object {
  const {hist_access_type: kind, n, start, stop, pattern, session, unique, output} = request;
  let found = [...entries];
  if (kind === "range") {
    const isOurs = session === undefined || session === 0 || session === 1;
    const [from, to] = [Number(start ?? 1), Number(stop ?? Number.POSITIVE_INFINITY)];
    found = isOurs ? found.filter(({count}) => count >= from && count < to) : [];
  }
  if (kind === "search") {
    const fits = glob(String(pattern ?? "*"));
    found = found.filter(({code}) => fits.test(code));
    if (unique) found = found.filter(({code}, i) => !found.slice(i + 1).some(later => later.code === code));
  }
  if (kind !== "range" && typeof n === "number" && n >= 0) found = n === 0 ? [] : found.slice(-n);
  const history = found.map(({count, code}) => [1, count, output ? [code, null] : code]);
  return {status: "ok", history};
}

function glob(pattern: string): RegExp {
  const parts = pattern
    .replace(/[\\^$.|+()[\]{}]/g, "\\$&")
    .replaceAll("*", "[^]*")
    .replaceAll("?", "[^]");
  return new RegExp(`^${parts}$`);
}

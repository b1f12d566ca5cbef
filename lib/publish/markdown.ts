import path from "node:path";
import MarkdownIt from "markdown-it";
import anchor from "markdown-it-anchor";
import footnote from "markdown-it-footnote";
import type {Cell} from "../notebook/notebook.ts";
import {InputError} from "../result/error.ts";
import {type Clean, isBalanced, outside, unsafeHtml} from "./clean.ts";
import {base64, escapeHtml, slug} from "./html.ts";
import {formulaHtml, useMath} from "./math.ts";
import type {References} from "./references.ts";

/** A heading of the page, for the table of contents. */
export interface Heading {
  level: number;
  id: string;
  title: string;
}

export interface MarkdownOptions {
  /** name of the notebook, for messages */
  file: string;
  /** the bytes of a picture by its relative address in a text, or null where there is none */
  picture: (address: string) => Uint8Array | null;
  references: References;
  /** the cleaner for HTML written in a text */
  clean: () => Promise<Clean>;
}

/** Renders the texts of one page; headings are collected on the way. */
export interface PageMarkdown {
  headings: Heading[];
  /**
   * @param cell the text's cell: its attachments are the pictures it may show, its id keeps footnotes apart
   * @throws {InputError} exit code 2: a reference or a picture is not there, or a picture would be loaded from outside
   */
  render(text: string, cell: Cell): Promise<string>;
}

/** Reserved for the page itself. */
const TAKEN = ["verdict", "contents", "provenance", "content", "report", "all-code", "plotly"];

/** Kinds of callouts, by the word that marks one: `> [!NOTE]`, or a quotation that starts with the word in bold. */
const CALLOUTS: Record<string, string> = {
  note: "Note",
  tip: "Tip",
  important: "Important",
  warning: "Warning",
  caution: "Caution",
};

export function createMarkdown({file, picture, references, clean}: MarkdownOptions): PageMarkdown {
  const headings: Heading[] = [];
  const taken = new Set(TAKEN);
  const markdown = new MarkdownIt({html: true, linkify: false, typographer: false});
  markdown.use(useMath).use(footnote);
  markdown.core.ruler.push("one-title", state => {
    // the page's title is its only heading of level 1
    for (const token of state.tokens) if (token.tag === "h1") token.tag = "h2";
  });
  markdown.use(anchor, {
    slugify: text => unique(slug(text), taken),
    callback: (token, {slug: id, title}) => headings.push({level: Number(token.tag.slice(1)), id, title}),
    tabIndex: false,
  });
  markdown.core.ruler.push("callouts", state => {
    for (const [index, token] of state.tokens.entries()) {
      const text = state.tokens[index + 2];
      if (token.type !== "blockquote_open" || text?.type !== "inline") continue;
      const marked = /^\[!(\w+)\]\s*/.exec(text.content);
      const kind = (marked?.[1] ?? /^\*\*(\w+)[.:]?\*\*/.exec(text.content)?.[1] ?? "").toLowerCase();
      if (!Object.hasOwn(CALLOUTS, kind)) continue;
      const end = state.tokens.findIndex(
        (other, at) => at > index && other.type === "blockquote_close" && other.level === token.level,
      );
      token.meta = state.tokens[end]!.meta = {kind, title: marked === null ? null : CALLOUTS[kind]};
      if (!marked) continue;
      // the mark stands alone in its text token, with a line break behind it
      text.children!.splice(0, text.children![1]?.type === "softbreak" ? 2 : 1);
    }
  });
  markdown.inline.ruler.before("link", "reference", (state, silent) => {
    const match = /^\{ref:([\w-]+)\}/.exec(state.src.slice(state.pos));
    if (!match) return false;
    if (!silent) state.push("reference", "a", 0).content = match[1]!;
    state.pos += match[0].length;
    return true;
  });
  const {rules} = markdown.renderer;
  /** What these tokens become is ours: a cleaner must neither see it nor take its ids. */
  const keep = (name: string, render = rules[name]) => {
    rules[name] = (tokens, index, options, env, self) =>
      own(render!(tokens, index, options, env, self), env as unknown as TextEnv);
  };
  const plain: typeof rules.text = (tokens, index, options, _env, self) =>
    self.renderToken(tokens, index, options);
  for (const name of ["heading_open", "heading_close"]) keep(name, plain);
  for (const name of ["ref", "block_open", "block_close", "open", "close", "anchor"])
    keep(`footnote_${name}`);
  keep("reference", (tokens, index) => {
    const {kind, number, anchor: target} = references.find(tokens[index]!.content);
    return `<a href="#${target}">${kind} ${number}</a>`;
  });
  keep("blockquote_open", (tokens, index) => {
    const meta = tokens[index]!.meta as {kind: string; title: string | null} | null;
    if (!meta) return "<blockquote>\n";
    const title = meta.title === null ? "" : `<p class="callout-title">${escapeHtml(meta.title)}</p>`;
    return `<div class="callout ${meta.kind}" role="note">${title}\n`;
  });
  keep("blockquote_close", (tokens, index) => (tokens[index]!.meta ? "</div>\n" : "</blockquote>\n"));
  const plainImage = rules["image"]!;
  rules["image"] = (tokens, index, options, env, self) => {
    const token = tokens[index]!;
    token.attrSet(
      "src",
      embedded(String(token.attrGet("src") ?? ""), (env as unknown as TextEnv).cell, picture, file),
    );
    return plainImage(tokens, index, options, env, self);
  };
  keep("math", (tokens, index) => {
    const {content, meta} = tokens[index]!;
    return formulaHtml(content, (meta as {isBlock: boolean}).isBlock);
  });
  keep("table_open", () => '<div class="scroll" role="group" aria-label="Table" tabindex="0"><table>\n');
  keep("table_close", () => "</table></div>\n");
  for (const part of ["thead", "tbody", "tr", "th", "td"]) {
    for (const end of ["open", "close"]) keep(`${part}_${end}`, plain);
  }
  return {
    headings,
    async render(text, cell) {
      const env = {docId: cell.id, cell, own: [] as string[]};
      const tokens = markdown.parse(text.replace(/[\uE000\uE001]/g, ""), env);
      const html = markdown.renderer.render(tokens, markdown.options, env);
      const written = tokens.some(
        token => token.type === "html_block" || token.children?.some(child => child.type === "html_inline"),
      );
      const safe = written ? (await clean())(html, cell.id) : html;
      const whole = safe.replace(/\uE000(\d+)\uE001/g, (_all, index: string) => env.own[Number(index)] ?? "");
      if (!isBalanced(whole)) throw unsafeHtml(file);
      return whole;
    },
  };
}

/** What rendering one text carries along. */
interface TextEnv {
  /** keeps the footnotes of one cell apart from those of another */
  docId: string;
  cell: Cell;
  /** HTML of ours that a cleaner would take apart; a mark stands for it until then */
  own: string[];
}

function own(html: string, env: TextEnv): string {
  return `\uE000${env.own.push(html) - 1}\uE001`;
}

function unique(wanted: string, taken: Set<string>): string {
  let id = wanted;
  for (let i = 2; taken.has(id); i++) id = `${wanted}-${i}`;
  taken.add(id);
  return id;
}

const IMAGE_TYPES: Record<string, string> = {
  ".png": "image/png",
  ".jpg": "image/jpeg",
  ".jpeg": "image/jpeg",
  ".gif": "image/gif",
  ".webp": "image/webp",
  ".svg": "image/svg+xml",
};

/** The address of a picture in a text, with the picture itself in it. */
function embedded(source: string, cell: Cell, picture: MarkdownOptions["picture"], file: string): string {
  if (source.startsWith("data:image/")) return source;
  const address = decodeURIComponent(source);
  if (address.startsWith("attachment:")) {
    const bundle = cell.attachments?.[address.slice("attachment:".length)];
    const [type, content] = Object.entries(bundle ?? {}).find(([mime]) => mime.startsWith("image/")) ?? [];
    if (typeof content === "string") return `data:${type};base64,${content.replace(/\s/g, "")}`;
    throw noPicture(file, address, "the cell has no such attachment");
  }
  if (/^[a-z][a-z0-9+.-]*:|^\/\//i.test(address)) throw outside(file, address);
  const type = IMAGE_TYPES[path.extname(address).toLowerCase()];
  if (type === undefined)
    throw noPicture(file, address, `only ${Object.keys(IMAGE_TYPES).join(", ")} are pictures`);
  const bytes = picture(address);
  if (bytes === null) throw noPicture(file, address, "there is no such file beside the notebook");
  return `data:${type};base64,${base64(bytes)}`;
}

function noPicture(file: string, address: string, why: string): InputError {
  return new InputError(2, {
    code: "picture-missing",
    file,
    words: `the picture ${address} cannot be shown: ${why}`,
    hint: "mend its path in the text",
  });
}

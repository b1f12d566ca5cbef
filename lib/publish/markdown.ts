import {readFileSync} from "node:fs";
import path from "node:path";
import MarkdownIt from "markdown-it";
import anchor from "markdown-it-anchor";
import footnote from "markdown-it-footnote";
import type {Cell} from "../notebook/notebook.ts";
import {InputError} from "../result/error.ts";
import {type Clean, outside} from "./clean.ts";
import {base64, slug} from "./html.ts";
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
  /** folder of the notebook: pictures are looked up there */
  folder: string;
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
const TAKEN = ["verdict", "contents", "provenance", "content"];

export function createMarkdown({file, folder, references, clean}: MarkdownOptions): PageMarkdown {
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
  markdown.inline.ruler.before("link", "reference", (state, silent) => {
    const match = /^\{ref:([\w-]+)\}/.exec(state.src.slice(state.pos));
    if (!match) return false;
    if (!silent) {
      const {kind, number, anchor: target} = references.find(match[1]!);
      state.push("link_open", "a", 1).attrs = [["href", `#${target}`]];
      state.push("text", "", 0).content = `${kind} ${number}`;
      state.push("link_close", "a", -1);
    }
    state.pos += match[0].length;
    return true;
  });
  const plainImage = markdown.renderer.rules["image"]!;
  markdown.renderer.rules["image"] = (tokens, index, options, env, self) => {
    const token = tokens[index]!;
    token.attrSet(
      "src",
      embedded(String(token.attrGet("src") ?? ""), (env as unknown as TextEnv).cell, folder, file),
    );
    return plainImage(tokens, index, options, env, self);
  };
  markdown.renderer.rules["math"] = (tokens, index, _options, env) => {
    const {content, meta} = tokens[index]!;
    return own(formulaHtml(content, (meta as {isBlock: boolean}).isBlock), env as unknown as TextEnv);
  };
  markdown.renderer.rules["table_open"] = (_tokens, _index, _options, env) =>
    `${own('<div class="scroll" role="group" aria-label="Table" tabindex="0">', env as unknown as TextEnv)}<table>\n`;
  markdown.renderer.rules["table_close"] = (_tokens, _index, _options, env) =>
    `</table>${own("</div>", env as unknown as TextEnv)}\n`;
  return {
    headings,
    async render(text, cell) {
      const env = {docId: cell.id, cell, own: [] as string[]};
      const tokens = markdown.parse(text.replace(/[\uE000\uE001]/g, ""), env);
      const html = markdown.renderer.render(tokens, markdown.options, env);
      const written = tokens.some(
        token => token.type === "html_block" || token.children?.some(child => child.type === "html_inline"),
      );
      const safe = written ? cleanedAround(html, await clean()) : html;
      return safe.replace(/\uE000(\d+)\uE001/g, (_all, index: string) => env.own[Number(index)]!);
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

/** Cleans a text that mixes our HTML with the author's; its headings get their ids back, its footnotes lose their links. */
function cleanedAround(html: string, clean: Clean): string {
  const ids = [...html.matchAll(/<h[1-6] id="([^"]*)"/g)].map(match => match[1]!);
  let next = 0;
  return clean(html).replace(/<h([1-6])>/g, (all, level: string) =>
    next < ids.length ? `<h${level} id="${ids[next++]}">` : all,
  );
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
function embedded(source: string, cell: Cell, folder: string, file: string): string {
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
  try {
    return `data:${type};base64,${base64(readFileSync(path.resolve(folder, address)))}`;
  } catch {
    throw noPicture(file, address, "there is no such file beside the notebook");
  }
}

function noPicture(file: string, address: string, why: string): InputError {
  return new InputError(2, {
    code: "picture-missing",
    file,
    words: `the picture ${address} cannot be shown: ${why}`,
    hint: "mend its path in the text",
  });
}

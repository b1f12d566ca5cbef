import type {WindowLike} from "dompurify";
import {InputError} from "../result/error.ts";

/** What may stay in HTML that a cell or a text brings along: text, lists, tables, links, pictures; no SVG, no styles of the page. */
const ALLOWED = {
  USE_PROFILES: {html: true},
  FORBID_TAGS: [
    "style",
    "form",
    "input",
    "button",
    "textarea",
    "select",
    "option",
    "dialog",
    "iframe",
    "link",
    "meta",
    "base",
    "audio",
    "video",
    "source",
    "template",
  ],
  FORBID_ATTR: ["class", "srcset", "background", "ping", "target", "for", "usemap", "itemprop", "slot"],
  ALLOW_DATA_ATTR: false,
};

/**
 * Cleans HTML for one page. `scope` (letters, digits, hyphens) goes before every id and name in it and before the links to
 * them, so that they can neither take the place of the page's own nor of another cell's.
 */
export type Clean = (html: string, scope: string) => string;

/**
 * Loads the cleaner (about 0.3 s, so only where there is HTML to clean).
 *
 * What it returns holds no script, no handler, no style sheet and no inline SVG, and nothing that is loaded from
 * outside. It is cleaned, read and cleaned again: a text that still changes then is refused.
 *
 * @param file name of the notebook, for messages
 */
export async function openCleaner(file: string): Promise<Clean> {
  const [{JSDOM}, {default: createDOMPurify}] = await Promise.all([import("jsdom"), import("dompurify")]);
  const {window} = new JSDOM("");
  const purify = createDOMPurify(window as unknown as WindowLike);
  let prefix = "";
  purify.addHook("afterSanitizeAttributes", element => {
    const source = element.getAttribute("src");
    if (source !== null && !/^data:image\//.test(source)) throw outside(file, source);
    for (const [name, mark] of [
      ["id", ""],
      ["name", ""],
      ["href", "#"],
    ] as const) {
      const value = element.getAttribute(name);
      if (value === null || !value.startsWith(mark) || value.startsWith(mark + prefix)) continue;
      element.setAttribute(name, `${mark}${prefix}${value.slice(mark.length).replace(/[^\w-]/g, "-")}`);
    }
    const style = element.getAttribute("style");
    if (style !== null) {
      const kept = /(?:^|;)\s*text-align\s*:\s*(left|right|center)/.exec(style);
      if (kept) element.setAttribute("style", `text-align: ${kept[1]}`);
      else element.removeAttribute("style");
    }
  });
  return (html, scope) => {
    prefix = `cell-${scope}-`;
    const once = purify.sanitize(html, ALLOWED);
    const twice = purify.sanitize(once, ALLOWED);
    if (once !== twice || !isBalanced(once)) throw unsafeHtml(file);
    return once;
  };
}

/** HTML that a browser would read in another way than it was written. */
export function unsafeHtml(file: string): InputError {
  return new InputError(2, {
    code: "html-unsafe",
    file,
    words: "the HTML of a cell or text changes its meaning when it is read again",
    hint: "write it more simply, or as Markdown",
  });
}

/** Elements without an end tag. */
const VOID = new Set("area base br col embed hr img input link meta source track wbr".split(" "));

/** Whether every element of a text is closed in its turn; where it is not, it would tear open what stands around it. */
export function isBalanced(html: string): boolean {
  const open: string[] = [];
  for (const [, slash, tag, rest] of html.matchAll(
    /<(\/?)([a-zA-Z][^\s/>]*)((?:"[^"]*"|'[^']*'|[^"'>])*)>/g,
  )) {
    const name = tag!.toLowerCase();
    if (slash) {
      if (open.pop() !== name) return false;
    } else if (!VOID.has(name) && !rest!.endsWith("/")) open.push(name);
  }
  return open.length === 0;
}

/** A picture that a reader's browser would have to fetch. */
export function outside(file: string, address: string): InputError {
  return new InputError(2, {
    code: "picture-outside",
    file,
    words: `the picture ${address.slice(0, 120)} would be loaded from outside the page`,
    hint: "put the file beside the notebook and name it by a relative path in Markdown",
  });
}

import {SaxesParser} from "saxes";
import {InputError} from "../../result/error.ts";
import {type ByteSource, PIECE_BYTES} from "../source.ts";
import {plainTextSource} from "../text.ts";

/** What a walk through an XML file tells. Names come as written, prefix included. */
export interface XmlHandler {
  open(name: string, attributes: Record<string, string>, line: number): void;
  /** character data, in parts */
  text(text: string): void;
  close(name: string): void;
}

/** Elements nested deeper than this are no document that a logger wrote. */
const DEEPEST = 64;

/**
 * Walks through an XML file piece by piece. Only the five entities of XML itself and character references are resolved; a
 * document type declaration, which could define others, is refused, and nothing is ever fetched.
 *
 * @throws {InputError} 1: broken XML with line and column, a DOCTYPE, an unknown encoding, elements nested too deep
 */
export function walkXml(original: ByteSource, handler: XmlHandler): void {
  const {file} = original;
  const {source, encoding} = plainTextSource(original);
  const parser = new SaxesParser<{xmlns: false; position: true}>({xmlns: false, position: true});
  const refuse = (code: string, words: string, hint: string): InputError =>
    new InputError(1, {code, words, file, line: parser.line, column: Math.max(1, parser.column), hint});
  let depth = 0;
  parser.on("error", error => {
    const words = error.message.replace(/^\d+:\d+: /, "").replace(/\.$/, "");
    throw refuse(
      "broken-xml",
      `broken XML: ${words}`,
      "export the log again; a recording that was cut off lacks its end tags",
    );
  });
  parser.on("doctype", () => {
    throw refuse(
      "doctype-refused",
      "the file has a document type declaration (DOCTYPE); entities are not expanded and nothing is fetched",
      "delete the DOCTYPE, no GPX file needs one",
    );
  });
  parser.on("opentag", ({name, attributes}) => {
    if (++depth > DEEPEST) {
      throw refuse("nested-too-deep", `elements are nested deeper than ${DEEPEST}`, "export the log again");
    }
    handler.open(name, attributes, parser.line);
  });
  parser.on("text", text => handler.text(text));
  parser.on("cdata", text => handler.text(text));
  parser.on("closetag", ({name}) => {
    depth--;
    handler.close(name);
  });
  const decoder = decoderFor(source, encoding === "UTF-8", file);
  for (let at = 0; at < source.size; at += PIECE_BYTES) {
    parser.write(decoder.decode(source.read(at, PIECE_BYTES), {stream: true}));
  }
  parser.write(decoder.decode());
  parser.close();
}

/** By the XML declaration; UTF-8 without one. Bytes that are no UTF-8 can only stand in names and become "�". */
function decoderFor(source: ByteSource, asDeclared: boolean, file: string): TextDecoder {
  const head = Buffer.from(source.read(0, 200)).toString("latin1");
  const declared = asDeclared
    ? /^\s*<\?xml[^>]*?\sencoding\s*=\s*["']([^"']*)["']/.exec(head)?.[1]
    : undefined;
  // UTF-16 declared over bytes that are not was written by a converter that forgot the declaration
  if (declared === undefined || /^utf-?16/i.test(declared)) return new TextDecoder();
  try {
    return new TextDecoder(declared);
  } catch {
    throw new InputError(1, {
      code: "unknown-encoding",
      words: `the encoding "${declared}" is not known`,
      file,
      line: 1,
      hint: "save the file as UTF-8",
    });
  }
}

import {type ByteSource, PIECE_BYTES} from "../source.ts";
import type {Tally} from "../tally.ts";
import {cleanText} from "../text.ts";
import {readPiece, type Sentence} from "./sentence.ts";

/** A line longer than this is walked through in parts, so that a file without line ends needs no memory [characters]. */
const LONG_LINE = 1 << 16;
const CONTROL = /[\u0000-\u0008\u000b-\u001f\u007f]/;
const CUT = "sentence cut off";

/**
 * Sentences of a file in its order. A "$" always starts a new one, wherever it stands; a sentence broken over two lines is
 * put together where its checksum then is right. Everything else is counted.
 *
 * @param source text of one byte a character
 */
export function* sentencesOf(source: ByteSource, tally: Tally): Generator<Sentence> {
  let pending: {text: string; line: number} | null = null;
  for (const {text, line} of linesOf(source)) {
    const clean = CONTROL.test(text) ? cleanText(text) : text;
    if (clean.trim() === "") continue;
    const [before, ...pieces] = clean.split("$");
    const joined = pending && before.trim() !== "" ? readPiece(pending.text + before.trimEnd()) : null;
    if (pending && joined?.kind === "sentence" && joined.checked) {
      yield {...joined, line: pending.line};
    } else {
      if (pending) tally.add(CUT, pending.line);
      if (before.trim() !== "") tally.add("text that is no sentence", line);
    }
    pending = null;
    for (const [k, text] of pieces.entries()) {
      const piece = readPiece(text);
      if (piece.kind === "sentence") {
        if (piece.rest !== "") tally.add("text behind a sentence", line);
        yield {...piece, line};
      } else if (piece.kind === "refused") tally.add(piece.reason, line);
      else if (k === pieces.length - 1) pending = {text, line};
      else tally.add(CUT, line);
    }
  }
  if (pending) tally.add(CUT, pending.line);
}

/** Lines with their numbers, from 1; a long line comes in several parts that start at a "$". */
function* linesOf(source: ByteSource): Generator<{text: string; line: number}> {
  let line = 1;
  let rest = "";
  let newline = "";
  for (let at = 0; at < source.size; at += PIECE_BYTES) {
    const {buffer, byteOffset, byteLength} = source.read(at, PIECE_BYTES);
    const text = rest + Buffer.from(buffer, byteOffset, byteLength).toString("latin1");
    newline ||= text.includes("\n") || !text.includes("\r") ? "\n" : "\r";
    let start = 0;
    for (let end = text.indexOf(newline); end >= 0; end = text.indexOf(newline, start)) {
      yield {text: text.slice(start, end), line: line++};
      start = end + 1;
    }
    rest = text.slice(start);
    if (rest.length > LONG_LINE) {
      const cut = rest.lastIndexOf("$");
      yield {text: cut > 0 ? rest.slice(0, cut) : rest, line};
      rest = cut > 0 ? rest.slice(cut) : "";
    }
  }
  yield {text: rest, line};
}

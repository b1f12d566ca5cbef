/** Text made safe for HTML, in content and in quoted attributes. */
export function escapeHtml(text: string): string {
  return text
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;")
    .replaceAll('"', "&quot;");
}

/** A text as an anchor: letters and digits in lower case, the rest hyphens. */
export function slug(text: string): string {
  const words = text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "");
  return words.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "") || "section";
}

/** JSON for a `<script type="application/json">`: nothing in it can end the element. */
export function jsonForScript(value: unknown): string {
  return JSON.stringify(value).replaceAll("<", "\\u003c");
}

export function base64(content: string | Uint8Array): string {
  return Buffer.from(content as Uint8Array).toString("base64");
}

/** A number with a true minus sign; "+" in front of a positive one where `sign` asks for it. */
export function numberText(value: number, digits: number, sign = false): string {
  const text = Math.abs(value).toFixed(digits);
  if (Number(text) === 0) return text;
  return `${value < 0 ? "−" : sign ? "+" : ""}${text}`;
}

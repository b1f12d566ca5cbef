/**
 * A figure before it is drawn: a Plotly specification and its words. It displays in notebooks through
 * `Symbol.for("Jupyter.display")` as one MIME bundle; see `figures/figure.ts`.
 */
export interface FigureSpec {
  /** short identifier, unique in a notebook, referred to as {ref:id} */
  id: string;
  caption: string;
  /** what is seen, computed from the data; the picture's text alternative */
  alt: string;
  /** Plotly traces and layout, JSON only */
  data: Record<string, unknown>[];
  layout: Record<string, unknown>;
}

/** A table before it is shown. */
export interface TableSpec {
  id: string;
  caption: string;
  columns: {title: string; unit?: string; align?: "left" | "right"}[];
  rows: (string | number | null)[][];
}

import type {Cell, Notebook} from "./notebook.ts";

/**
 * A notebook without what a run left in it: outputs, counts, timings and the editor's display state.
 * This is the form that is committed; two people who ran it get the same file.
 */
export function stripped(notebook: Notebook): Notebook {
  const {kernelspec, language_info: info, widgets: _widgets, ...metadata} = notebook.metadata;
  const name = (info as {name?: unknown} | undefined)?.name;
  return {
    ...notebook,
    metadata: {
      ...metadata,
      ...(kernelspec !== undefined && {kernelspec}),
      ...(name !== undefined && {language_info: {name}}),
    },
    cells: notebook.cells.map(strippedCell),
  };
}

/** Cell metadata that editors write by themselves. */
const RUN_METADATA = new Set(["execution", "collapsed", "scrolled", "ExecuteTime", "jupyter"]);

function strippedCell(cell: Cell): Cell {
  const metadata = Object.fromEntries(
    Object.entries(cell.metadata).filter(([key]) => !RUN_METADATA.has(key)),
  );
  return cell.cell_type === "code"
    ? {...cell, metadata, outputs: [], execution_count: null}
    : {...cell, metadata};
}

/** The text of a notebook file: keys sorted, one blank of indent, texts as lists of lines, as Jupyter writes it. */
export function notebookText(notebook: Notebook): string {
  const cells = notebook.cells.map(cell => ({
    ...cell,
    source: lines(cell.source),
    ...(cell.outputs && {
      outputs: cell.outputs.map(output =>
        output.output_type === "stream"
          ? {...output, text: lines(output.text)}
          : "data" in output
            ? {...output, data: mapValues(output.data, (type, value) => storedContent(type, value))}
            : output,
      ),
    }),
  }));
  return `${JSON.stringify(sorted({...notebook, cells}), null, 1)}\n`;
}

function storedContent(type: string, content: unknown): unknown {
  return typeof content === "string" && /^text\/|svg\+xml$|javascript$/.test(type) ? lines(content) : content;
}

function lines(text: string): string[] {
  return text === "" ? [] : text.split(/(?<=\n)/);
}

function mapValues(
  record: Record<string, unknown>,
  change: (key: string, value: unknown) => unknown,
): Record<string, unknown> {
  return Object.fromEntries(Object.entries(record).map(([key, value]) => [key, change(key, value)]));
}

function sorted(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(sorted);
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0))
      .map(([key, content]) => [key, sorted(content)]),
  );
}

import {hasTag, type Notebook} from "./notebook.ts";

/** Tag of a cell that gives an exercise's answer away. */
export const ANSWER_TAG = "answer";

/** The students' version of a lesson: without the cells tagged `answer`, all else as it is. */
export function withoutAnswers(notebook: Notebook): Notebook {
  return {...notebook, cells: notebook.cells.filter(cell => !hasTag(cell, ANSWER_TAG))};
}

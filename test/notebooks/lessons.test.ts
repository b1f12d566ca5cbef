import assert from "node:assert/strict";
import {existsSync, readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import {describe, it} from "vitest";
import {ANSWER_TAG, withoutAnswers} from "../../lib/notebook/answers.ts";
import {hasTag, type Notebook} from "../../lib/notebook/notebook.ts";
import {parseNotebook} from "../../lib/notebook/read.ts";
import {notebookText} from "../../lib/notebook/write.ts";
import {ROOT} from "../repo/tracked-files.ts";

const folder = join(ROOT, "notebooks", "workshop");
const lessons = readdirSync(folder)
  .filter(name => existsSync(join(folder, name, "instructor.ipynb")))
  .sort();
const text = (name: string, file: string) => readFileSync(join(folder, name, file), "utf8");
const read = (name: string, file: string): Notebook => parseNotebook(text(name, file), file);
const idsOf = (notebook: Notebook, tag: string) =>
  notebook.cells.filter(cell => hasTag(cell, tag)).map(({id}) => id);

describe("the lessons of the workshop", () => {
  it("are six and a closing one", () => {
    assert.deepEqual(
      lessons.map(name => name[0]),
      ["1", "2", "3", "4", "5", "6", "7"],
    );
  });

  for (const name of lessons) {
    it(`${name}: the students' version is the instructor's without its answers`, () => {
      const instructor = read(name, "instructor.ipynb");
      assert.equal(
        text(name, "notebook.ipynb"),
        notebookText(withoutAnswers(instructor)),
        "write the students' versions again with npm run lessons",
      );
      assert.deepEqual(idsOf(read(name, "notebook.ipynb"), ANSWER_TAG), []);
    });

    it(`${name}: every exercise has room below it, and an answer`, () => {
      const instructor = read(name, "instructor.ipynb");
      const numbers = (tag: string) => idsOf(instructor, tag).map(id => Number(/-(\d+)$/.exec(id)![1]));
      const exercises = numbers("exercise");
      assert.ok(exercises.length >= 2);
      assert.deepEqual(numbers("room"), exercises);
      assert.deepEqual(numbers(ANSWER_TAG), exercises);
      const order = instructor.cells.map(({id}) => id);
      for (const number of exercises)
        assert.equal(order.indexOf(`room-${number}`), order.indexOf(`exercise-${number}`) + 1);
    });

    it(`${name}: opens with what to do, to learn and to need`, () => {
      const [{source}] = read(name, "notebook.ipynb").cells;
      for (const heading of ["What you will do.", "What you will learn.", "What you need."])
        assert.ok(source.includes(`**${heading}**`), heading);
    });
  }
});

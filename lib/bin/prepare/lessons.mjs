import {existsSync, readdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {pathToFileURL} from "node:url";

/**
 * Writes the students' version of every lesson: `notebook.ipynb` is `instructor.ipynb` without the cells tagged `answer`.
 *
 * @param {string} root
 * @returns {Promise<number>} exit code
 */
export async function lessons(root) {
  /** @param {string} file */
  const built = file => import(pathToFileURL(join(root, "lib", "dist", "notebook", file)).href);
  const [{withoutAnswers}, {parseNotebook}, {notebookText}] = await Promise.all(
    ["answers.js", "read.js", "write.js"].map(built),
  );
  const folder = join(root, "notebooks", "workshop");
  for (const name of readdirSync(folder).sort()) {
    const source = join(folder, name, "instructor.ipynb");
    if (!existsSync(source)) continue;
    const text = notebookText(withoutAnswers(parseNotebook(readFileSync(source, "utf8"), source)));
    const file = join(folder, name, "notebook.ipynb");
    if (existsSync(file) && readFileSync(file, "utf8") === text) continue;
    writeFileSync(file, text);
    process.stdout.write(`${join("notebooks", "workshop", name, "notebook.ipynb")}: written\n`);
  }
  return 0;
}

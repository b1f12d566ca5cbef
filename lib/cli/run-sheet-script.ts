/** Runs in the browser: keeps what is typed under the plan's lock, and saves it as a file. No network, no library. */
export const RUN_SHEET_SCRIPT = `
"use strict";
(() => {
  const sheet = JSON.parse(document.getElementById("sheet").textContent);
  const key = "fairpull-sheet " + sheet.locked;
  const state = document.getElementById("state");
  const inputs = [...document.querySelectorAll("input[name]")];
  let kept = {values: {}, saves: 0};
  try { kept = JSON.parse(localStorage.getItem(key)) || kept; } catch { state.textContent = "This browser keeps nothing: save before you close the page."; }
  const keep = () => {
    try { localStorage.setItem(key, JSON.stringify(kept)); state.textContent = "Kept on this device."; }
    catch { state.textContent = "This browser keeps nothing: save before you close the page."; }
  };
  const show = () => {
    for (const input of inputs) {
      const value = kept.values[input.name];
      if (input.type === "checkbox") input.checked = value === true;
      else input.value = value === undefined ? "" : value;
    }
  };
  show();
  const two = number => String(number).padStart(2, "0");
  document.addEventListener("input", ({target}) => {
    if (!target.name) return;
    kept.values[target.name] = target.type === "checkbox" ? target.checked : target.value;
    keep();
  });
  // an empty start time is that of the moment it is touched
  document.addEventListener("focusin", ({target}) => {
    if (!target.name || !target.name.endsWith(".start") || target.value !== "") return;
    const now = new Date();
    target.value = two(now.getHours()) + ":" + two(now.getMinutes()) + ":" + two(now.getSeconds());
    target.select();
    kept.values[target.name] = target.value;
    keep();
  });
  document.getElementById("save").addEventListener("click", () => {
    kept.saves++;
    keep();
    const value = name => kept.values[name];
    const rows = sheet.rows.map(({key, run, arm, direction}) => {
      const cells = {};
      for (const cell of sheet.cells) {
        const text = (value(key + "." + cell) || "").trim();
        if (text !== "") cells[cell] = text;
      }
      return {run, arm, direction, driven: value(key + ".driven") === true, isVoid: value(key + ".isVoid") === true, cells};
    });
    const ticked = inputs.filter(input => input.dataset.words && input.checked).map(input => input.dataset.words);
    const file = {format: "fairpull.sheet/1", locked: sheet.locked, saves: kept.saves, saved: new Date().toISOString(), day: (value("day") || "").trim(), ticked, rows};
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify(file, null, 2)], {type: "application/json"}));
    link.download = "run-sheet-" + sheet.locked.slice(7, 15) + "-" + kept.saves + ".json";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    state.textContent = "Saved as " + link.download + (kept.saves > 1 ? " (time " + kept.saves + ")" : "") + ".";
  });
  const clear = document.getElementById("clear");
  clear.addEventListener("click", () => {
    if (clear.dataset.sure !== "yes") {
      clear.dataset.sure = "yes";
      clear.textContent = "Empty it: press again";
      setTimeout(() => { clear.dataset.sure = ""; clear.textContent = "Empty the sheet"; }, 5000);
      return;
    }
    kept = {values: {}, saves: kept.saves};
    keep();
    show();
    clear.dataset.sure = "";
    clear.textContent = "Empty the sheet";
  });
})();
`;

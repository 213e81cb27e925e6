// The settings of a form, on all pages of the desk: what is chosen, and a client's. Goes
// before the script of the page.
"use strict";
const settings = (() => {
  const byId = (id) => document.getElementById(id);

  // Each accent has vowels of its own; one that it lacks goes back to the first.
  function listTargets(accent) {
    const target = byId("target");
    const rows = target && JSON.parse(byId("targets").dataset.targets)[accent];
    if (!rows) return;
    const chosen = target.value;
    target.replaceChildren(...rows.map(([symbol, name]) => new Option(name, symbol)));
    target.value = rows.some(([symbol]) => symbol === chosen) ? chosen : rows[0][0];
  }

  // Options recede, but say what they are set to.
  function showNow() {
    for (const now of document.querySelectorAll("[data-now]")) {
      const parts = now.dataset.now.split(" ").map((id) => {
        const field = byId(id);
        if (!field) return "";
        if (field.type === "checkbox") return field.checked ? id : "";
        const value = field.selectedOptions ? field.selectedOptions[0].text : field.value;
        return value.replace(/ \(.*/, "");
      });
      now.textContent = parts.filter(Boolean).join(" · ");
    }
  }

  // Fills in what a client's file says; the rest stays.
  function fillClient(form, fields) {
    if (fields.accent) listTargets(fields.accent);
    for (const [name, value] of Object.entries(fields)) {
      const field = form.elements[name];
      if (field && field.type === "checkbox") field.checked = true;
      else if (field) field.value = value;
    }
    showNow();
  }

  const askClient = (alias) =>
    fetch(`/client?${new URLSearchParams({ alias })}`, { headers: { "X-Part": "1" } });

  // A file as it is; of its name only the ending goes along.
  const askFile = (file) =>
    fetch(`/open?${new URLSearchParams({ ending: (/\.\w+$/.exec(file.name) || [""])[0] })}`, {
      method: "POST",
      body: file,
      headers: { "X-Part": "1", "Content-Type": "application/octet-stream" },
    });

  // A form as a button sends it.
  function send(form, button) {
    const body = new URLSearchParams(new FormData(form));
    if (button && button.name) body.set(button.name, button.value);
    const path = (button && button.getAttribute("formaction")) || form.getAttribute("action");
    return fetch(path, { method: "POST", body, headers: { "X-Part": "1" } });
  }

  async function reasonOf(answer) {
    try {
      return (await answer.json()).error;
    } catch {
      return "drillgen did not answer as it should. Reload the page.";
    }
  }

  // An answer that is a file, among the browser's downloads; its name.
  async function saveFile(answer) {
    const [, name] = /filename="(.*?)"/.exec(answer.headers.get("content-disposition"));
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await answer.blob());
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    return name;
  }

  // Where this browser keeps the text and the settings.
  return { listTargets, showNow, fillClient, askClient, askFile, send, reasonOf, saveFile, STORE: "drillgen text" };
})();

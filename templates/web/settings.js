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

  // What a client's file says holds while that client is chosen; then the page's own again.
  function followClient(form, tell, complain) {
    const chosen = form.elements.client;
    if (!chosen) return;
    let was = chosen.value;
    chosen.addEventListener("change", async () => {
      const alias = chosen.value;
      try {
        const [old, now] = await Promise.all([was, alias].map(readClient));
        was = alias;
        for (const name of Object.keys(old)) set(form.elements[name]);
        for (const [name, value] of Object.entries(now)) set(form.elements[name], value);
        showNow();
        tell(alias ? `${alias}: these settings are used.` : "No client’s settings are used.", now, old);
      } catch (error) {
        chosen.value = was;
        complain(error.message);
      }
    });
  }

  async function readClient(alias) {
    if (!alias) return {};
    const answer = await fetch(`/client?${new URLSearchParams({ alias })}`, { headers: { "X-Part": "1" } });
    if (!answer.ok) throw new Error(await reasonOf(answer));
    return (await answer.json()).fields;
  }

  // Without a value: what the page came with.
  function set(field, value) {
    if (!field) return;
    const of = [...(field.options || [])];
    const first = of.find((option) => option.defaultSelected) || of[0];
    if (field.type === "checkbox") field.checked = value ? true : field.defaultChecked;
    else field.value = value ?? (first ? first.value : field.defaultValue);
    if (field.id === "accent") listTargets(field.value);
  }

  // A file as it is; of its name only the ending goes along.
  const askFile = (file) =>
    fetch(`/open?${new URLSearchParams({ ending: (/\.\w+$/.exec(file.name) || [""])[0] })}`, {
      method: "POST",
      body: file,
      headers: { "X-Part": "1", "Content-Type": "application/octet-stream" },
    });

  // The fields of a form as a button sends them; files go along where the form has any.
  function fieldsOf(form, button) {
    const fields = new FormData(form);
    if (button && button.name) fields.set(button.name, button.value);
    return form.enctype === "multipart/form-data" ? fields : new URLSearchParams(fields);
  }

  function send(form, button) {
    const body = fieldsOf(form, button);
    const path = (button && button.getAttribute("formaction")) || form.getAttribute("action");
    return fetch(path, { method: "POST", body, headers: { "X-Part": "1" } });
  }

  // A tab that can give back why there is nothing in it (error.js).
  function openTab(button, complain) {
    button.formTarget = `tab-${Date.now()}`;
    window.takeProblem = complain;
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
    const header = answer.headers.get("content-disposition");
    const wide = /filename\*=UTF-8''([^;]*)/.exec(header);
    const name = wide ? decodeURIComponent(wide[1]) : /filename="(.*?)"/.exec(header)[1];
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await answer.blob());
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    return name;
  }

  // Discreet stays discreet from page to page of this tab, though nothing is kept then.
  const isDiscreet = () => window.name === "discreet";
  const markDiscreet = (on) => { window.name = on ? "discreet" : ""; };

  // What this tab, or else this browser, keeps: text and settings, by the names of the fields.
  // A discreet tab takes nothing from others.
  const STORE = "drillgen text";
  function readStore() {
    try {
      const others = isDiscreet() ? null : localStorage.getItem(STORE);
      const fields = JSON.parse(sessionStorage.getItem(STORE) || others || "null");
      return Array.isArray(fields) ? new Map(fields) : null;
    } catch {
      return null;
    }
  }

  return { listTargets, showNow, followClient, askFile, fieldsOf, send, openTab, reasonOf, saveFile, isDiscreet, markDiscreet, readStore, STORE };
})();

// The practice log: a CSV file (RFC 4180), with commas or semicolons between its cells. All
// pure: a text in, a text out.

const COLUMNS = [
  "date", "session", "unit", "version", "rung", "minutes",
  "felt", "heard", "steady", "lively", "tension", "note",
];
const ANSWERS = ["felt", "heard", "steady", "lively", "tension"];

function splitRows(text, comma) {
  const rows = [];
  let row = [];
  let cell = "";
  let quoted = false;
  for (let i = 0; i < text.length; i += 1) {
    const sign = text[i];
    if (quoted) {
      if (sign !== '"') cell += sign;
      else if (text[i + 1] === '"') cell += text[(i += 1)];
      else quoted = false;
    } else if (sign === '"') quoted = true;
    else if (sign === comma) row.push(cell), (cell = "");
    else if (sign === "\n") rows.push([...row, cell]), (row = []), (cell = "");
    else if (sign !== "\r") cell += sign;
  }
  if (cell || row.length) rows.push([...row, cell]);
  return rows.filter((cells) => cells.some((one) => one.trim()));
}

// The text of a file as spreadsheets save it: UTF-8, or what Windows writes.
export function decodeLog(bytes) {
  const read = (name, fatal) => new TextDecoder(name, { fatal }).decode(bytes);
  try {
    return read("utf-8", true);
  } catch {
    return read("windows-1252");
  }
}

// { head, rows, comma }, or { missing } with the name of a column.
export function readLog(text) {
  const plain = text.replace(/^\ufeff/, "");
  const [first] = plain.split("\n", 1);
  const comma = first.split(";").length > first.split(",").length ? ";" : ",";
  const [head = [], ...rows] = splitRows(plain, comma);
  const given = head.map((name) => name.trim().toLowerCase());
  // Two columns, those after "heard", may have other names in a log from elsewhere; it keeps them.
  const at = given.includes("steady") ? -1 : given.indexOf("heard");
  const names = given.map((name, i) => (at < 0 ? name : { 1: "steady", 2: "lively" }[i - at] ?? name));
  const missing = COLUMNS.find((name) => !names.includes(name));
  if (missing) return { missing };
  const filled = rows.map((row) => names.map((_, i) => row[i] ?? ""));
  return { head: names, shown: given, rows: filled, comma };
}

export const emptyLog = () => ({ head: COLUMNS, rows: [], comma: "," });

const isDone = (log, row) => ANSWERS.some((name) => row[log.head.indexOf(name)].trim());

export const countSessions = (log) => log.rows.filter((row) => isDone(log, row)).length;

// The log with a session: in the first row that a plan has left open, or in a new one.
export function addSession(log, entry) {
  const open = log.rows.findIndex((row) => !isDone(log, row));
  const last = log.rows.at(-1);
  const number = last ? Number(last[log.head.indexOf("session")]) || log.rows.length : 0;
  const fresh = { session: number + 1, ...entry };
  const row = log.head.map((name, at) => {
    const planned = open < 0 ? "" : log.rows[open][at].trim();
    const kept = ["session", "unit", "version", "rung"].includes(name) && planned;
    return kept ? planned : String(fresh[name] ?? "");
  });
  const rows = open < 0 ? [...log.rows, row] : log.rows.map((old, at) => (at === open ? row : old));
  return { ...log, rows };
}

export function writeLog({ head, shown = head, rows, comma }) {
  const quote = (cell) => (/[",;\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
  return [shown, ...rows].map((row) => `${row.map(quote).join(comma)}\r\n`).join("");
}

// A person's own words as lines to say, as they were typed: there is no dictionary here.

const LONGEST = 9;

// One for each stretch between marks, and no longer than a breath.
export function cutLines(text) {
  return text.replace(/([.!?…;:,]["”’)]*)\s+/g, "$1\n").split("\n").flatMap((part) => {
    const words = part.split(/\s+/).filter(Boolean);
    const size = Math.ceil(words.length / Math.ceil(words.length / LONGEST));
    const starts = words.map((_, at) => at).filter((at) => at % size === 0);
    return starts.map((at) => words.slice(at, at + size));
  });
}

// About as many as are said: groups of vowel letters, without an e that is silent at the end.
function countSyllables(word) {
  const letters = word.toLowerCase().replace(/([^aeiouy])e[ds]?(?![a-z])/, "$1");
  const said = /[\p{L}\d]/u.test(word);
  return said ? Math.max(1, letters.match(/[aeiouyà-ÿ]+|\d/g)?.length ?? 0) : 0;
}

// A phrase as the page has them.
export function makeLine(words) {
  const make = (name, parts, more) => {
    const element = Object.assign(document.createElement(name), more);
    element.append(...parts);
    return element;
  };
  const shown = make("span", words.flatMap((word) => {
    const count = countSyllables(word);
    const piece = make(count ? "i" : "b", [word]);
    if (count > 1) piece.dataset.n = count;
    return [make("span", [piece]), " "];
  }), { className: "words", ariaHidden: "true" });
  const plain = make("span", [`${words.join(" ")} `], { className: "vh" });
  const phrase = make("span", [plain, shown], { className: "ph" });
  if (/[.!?…]["”’)]*$/.test(words.at(-1))) phrase.dataset.rest = 2;
  return phrase;
}

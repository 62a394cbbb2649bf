// Words in the reader's language: the page brings those that scripts say, unless it is in English itself.

const said = JSON.parse(document.getElementById("words")?.textContent || "{}");

export const _ = (message, values = {}) =>
  (said[message] ?? message).replace(/\{(\w+)\}/g, (place, name) => values[name] ?? place);

// Marks a message that is said later.
export const N_ = (message) => message;

// A number as the page's language writes it.
export const figure = (value, digits) =>
  value.toLocaleString(document.documentElement.lang, { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: false });

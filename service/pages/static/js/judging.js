// Has a placement judged and says what came of it. Only the answer to the last question counts.

import { N_, _ } from "./words.js";

const VERDICTS = {
  carves: N_("It carves"),
  "carves-with-remarks": N_("It carves, with remarks"),
  "will-not-carve": N_("It will not carve as it is"),
};

let asking = null;

export async function judge(order, carving, asked) {
  asking?.abort();
  asking = new AbortController();
  const mine = asking;
  busy(true);
  try {
    const answer = await fetch(`/order/${order}/api/carvings/${carving}/trials`, {
      method: "POST",
      signal: mine.signal,
      headers: { "Content-Type": "application/json", ...(order && { "Slatproof-Order": order }) },
      body: JSON.stringify(asked),
    });
    const body = await answer.json();
    if (mine !== asking) return null;
    if (!answer.ok) {
      say("", _("It could not be judged"), body.detail ?? body.title ?? "");
      return null;
    }
    say(body.verdict, _(VERDICTS[body.verdict]), body.sentence);
    list(body.check.findings);
    return body;
  } catch (error) {
    if (error.name !== "AbortError") say("", _("The connection was lost"), _("Move it again to have it judged."));
    return null;
  } finally {
    if (mine === asking) busy(false);
  }
}

// Readers of the page, and programs, can tell that what it says is being judged anew.
function busy(now) {
  document.querySelector("#judged").setAttribute("aria-busy", now);
}

function say(verdict, title, sentence) {
  const place = document.querySelector("#judged .verdict");
  place.className = `verdict ${verdict}`;
  place.querySelector("svg")?.replaceWith(document.querySelector(`#mark-${verdict || "none"}`)?.content.cloneNode(true) ?? "");
  const words = place.querySelector("p");
  const strong = Object.assign(document.createElement("strong"), { textContent: title });
  words.replaceChildren(strong, sentence);
}

// Findings of one kind read as one: the worst in full, then how many more there are.
function list(findings) {
  const kinds = new Map();
  for (const finding of findings) {
    const key = `${finding.severity} ${finding.kind}`;
    kinds.set(key, [...(kinds.get(key) ?? []), finding]);
  }
  const rows = [...kinds.values()].map((alike) => {
    const row = document.createElement("li");
    row.className = alike[0].severity;
    const words = document.createElement("p");
    const title = document.createElement("strong");
    title.textContent = alike[0].severity === "stops" ? `${_("Must be changed:")} ` : `${_("Worth knowing:")} `;
    const more = alike.length > 1 ? ` ${_("(and {count} more like it)", { count: alike.length - 1 })}` : "";
    words.append(title, alike[0].message + more);
    const cure = Object.assign(document.createElement("p"), { className: "soft", textContent: alike[0].cure });
    row.append(document.querySelector(`#badge-${alike[0].severity}`).content.cloneNode(true));
    const both = document.createElement("div");
    both.append(words, cure);
    row.append(both);
    return row;
  });
  document.querySelector("#found").replaceChildren(...rows);
}

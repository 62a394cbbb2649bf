// Sends what stands in the form to /graphql and shows what comes back.
const form = document.getElementById("try");
const field = (name) => document.getElementById(name).value;
const answer = document.getElementById("answer");

async function ask(event) {
  event.preventDefault();
  let variables;
  try {
    variables = JSON.parse(field("variables").trim() || "{}");
  } catch (error) {
    answer.textContent = `The variables are not JSON: ${error.message}`;
    return;
  }
  const headers = { "Content-Type": "application/json", Accept: "application/graphql-response+json" };
  if (field("token").trim()) headers.Authorization = `Bearer ${field("token").trim()}`;
  const body = JSON.stringify({ query: field("query"), variables });
  try {
    const response = await fetch("/graphql", { method: "POST", headers, body });
    answer.textContent = JSON.stringify(await response.json(), null, 2);
  } catch (error) {
    answer.textContent = `No answer: ${error.message}`;
  }
}

form.addEventListener("submit", ask);
form.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) ask(event);
});

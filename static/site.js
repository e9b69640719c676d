// Small things that every page may use. Everything works without them.
document.addEventListener("htmx:responseError", (event) => {
  const box = document.createElement("ul");
  box.className = "said";
  box.setAttribute("role", "alert");
  const line = document.createElement("li");
  line.className = "error";
  line.textContent = `The server answered ${event.detail.xhr.status}. Nothing you typed is lost; try again in a moment.`;
  box.append(line);
  document.getElementById("main").prepend(box);
});
// Answers with 409 (a conflict) and 422 (faulty input) carry a page piece that is to be shown.
document.addEventListener("htmx:beforeSwap", (event) => {
  if ([409, 422].includes(event.detail.xhr.status)) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
});
// A page that shows work in progress is loaded afresh when the work has ended.
document.addEventListener("work-ended", () => {
  if (document.querySelector("[data-reload-after-work]")) window.location.reload();
});

/* Reckons a form while it is filled in: posts it and puts the answer into the page.
   Without this script the button "Reckon" does the same. */
"use strict";
(() => {
  const form = document.querySelector("form[data-result]");
  const result = document.getElementById("result");
  if (!form || !result) return;
  const WAIT = 500;
  let timer, running, last = "";

  const reckon = async () => {
    const typed = new URLSearchParams(new FormData(form));
    if (typed.toString() === last) return;
    last = typed.toString();
    if (running) running.abort();
    running = new AbortController();
    result.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(form.dataset.result, {
        method: "POST", body: typed, signal: running.signal, redirect: "error",
      });
      if (answer.ok) result.innerHTML = await answer.text();
      else last = "";
    } catch (fault) {
      // A newer form is on its way, or the link is down: the button still works.
      if (fault.name === "AbortError") return;
      last = "";
    }
    result.setAttribute("aria-busy", "false");
  };

  last = new URLSearchParams(new FormData(form)).toString();
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(reckon, WAIT);
  });
})();

/* Keeps the progress of a seasonal message fresh. Without this script a link does the same. */
"use strict";
(() => {
  const box = document.querySelector("[data-progress]");
  if (!box) return;
  const EVERY = 5000, LONGEST = 60000;
  let wait = EVERY;

  const look = async () => {
    if (!document.hidden) {
      try {
        const answer = await fetch(box.dataset.progress, { redirect: "error" });
        if (answer.ok) {
          const state = box.querySelector("[data-state]")?.dataset.state;
          box.innerHTML = await answer.text();
          const now = box.querySelector("[data-state]")?.dataset.state;
          // The buttons of the page belong to the state: with another one it is opened anew.
          if (now !== state) return location.reload();
          wait = EVERY;
        } else if (answer.status !== 503) return;
      } catch {
        // The link is down: try again, less and less often.
        wait = Math.min(wait * 2, LONGEST);
      }
    }
    if (box.querySelector('[data-going="yes"]')) setTimeout(look, wait);
  };

  if (box.querySelector('[data-going="yes"]')) setTimeout(look, wait);
})();

// Keys pressed in a form belong to the form: without this the notebook takes the arrow keys and Enter from its lists and
// buttons, and a list cannot be worked by keyboard.

function render({ el: host, signal }) {
  host.style.display = "none";
  const mine = (tries) => {
    const form = host.closest(".cb-form");
    if (form) {
      form.setAttribute("data-lm-suppress-shortcuts", "true");
      form.addEventListener("keydown", (e) => { if (e.key !== "Tab") e.stopPropagation(); }, { signal });
    }
    else if (tries > 0 && !signal?.aborted) setTimeout(() => mine(tries - 1), 50);
  };
  mine(100);
}

export default { render };

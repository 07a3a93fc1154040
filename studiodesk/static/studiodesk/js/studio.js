// Small helps for every page; each page works without them.
"use strict";
(() => {
  let line = null; // what this script has to warn of; what the server warned of is left alone
  const clear = () => {
    if (line) line.remove();
    line = null;
  };
  const warn = (words) => {
    const place = document.getElementById("warned");
    if (!place || (line && line.textContent === words)) return; // said once, not at every try
    clear();
    line = document.createElement("p");
    line.className = "notice stop";
    line.textContent = words;
    place.append(line);
  };
  const sayNoAnswer = (event) => {
    // A page that refreshes itself changed nothing by trying: it says only how old it is.
    const stale = event.detail.elt && event.detail.elt.dataset.stale;
    const checked = document.querySelector(".checked-at");
    const place = document.getElementById("warned");
    if (stale) warn(stale.replace("{at}", checked ? checked.textContent : ""));
    else if (place) warn(place.dataset.noAnswer);
  };
  for (const event of ["htmx:responseError", "htmx:sendError", "htmx:timeout"]) {
    document.addEventListener(event, sayNoAnswer);
  }
  document.addEventListener("htmx:afterRequest", (event) => {
    const status = event.detail.xhr ? event.detail.xhr.status : 0;
    if (event.detail.successful || status === 409 || status === 422) clear();
  });
  // The summary of what to put right takes focus; `autofocus` alone loses to a hash in the address.
  const problems = document.getElementById("problems");
  if (problems) problems.focus();
})();

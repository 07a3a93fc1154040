// What a browser can say of the page that is open: tests/journeys/looking.py puts it into the page and asks.
"use strict";
window.looking = (() => {
  const named = (one) => one.outerHTML.replace(/\s+/g, " ").slice(0, 110);
  const drawn = (one) => one.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true });
  // What only a screen reader gets is a pixel that is clipped away.
  const unseen = (one) => one.closest(".visually-hidden") || getComputedStyle(one).clipPath !== "none";
  const CONTROLS = "a[href], button, summary, select, textarea, input:not([type=hidden]), [role=button]";

  /** A link is within a sentence if words stand beside it (WCAG 2.5.8 and 2.5.5 except these). */
  const inSentence = (one) =>
    one.tagName === "A" &&
    [...one.parentElement.childNodes].some((n) => n !== one && n.nodeType === 3 && /\p{L}{2}|\d/u.test(n.data));

  /** The ground that answers a press: a tick's own box and its label do the same thing. */
  const grounds = (one) => {
    if (!one.matches("[type=checkbox], [type=radio]")) return [one.getBoundingClientRect()];
    return [one, ...(one.labels || [])].map((part) => part.getBoundingClientRect());
  };

  /** Targets smaller than `least` (height and width), or lower than `high` where they stand alone. */
  const targets = (least, high) => {
    const found = [];
    for (const one of document.querySelectorAll(CONTROLS)) {
      if (!drawn(one) || one.matches(".skip") || one.disabled) continue;
      const boxes = grounds(one).filter((box) => box.width && box.height);
      if (!boxes.length || unseen(one) || inSentence(one)) continue;
      const tall = Math.max(...boxes.map((box) => box.height));
      const wide = Math.max(...boxes.map((box) => box.width));
      // In the cells of a table, and plain links in lists and lines: as much as the criterion asks.
      const must = one.closest("td, th") || one.matches("a:not([class])") ? least : high;
      if (tall < must - 0.5 || wide < least - 0.5) found.push(`${Math.round(wide)}×${Math.round(tall)} px ${named(one)}`);
    }
    return found;
  };

  /** Wider than the window; or words cut off by their own box. */
  const overflow = () => {
    const root = document.documentElement;
    if (root.scrollWidth <= root.clientWidth) return [];
    const over = [...document.body.querySelectorAll("*")].filter(
      (one) => drawn(one) && one.getBoundingClientRect().right > root.clientWidth + 1 && !one.closest(".scroll, svg"),
    );
    return [`${root.scrollWidth} in ${root.clientWidth} px: ${over.slice(-2).map(named).join(" | ")}`];
  };
  const clipped = () => {
    const found = [];
    for (const one of document.body.querySelectorAll("*")) {
      const style = getComputedStyle(one);
      if (!/hidden|clip/.test(style.overflowX + style.overflowY) || unseen(one) || !drawn(one)) continue;
      if (!one.innerText || !one.innerText.trim()) continue;
      if (one.matches(".pieces .piece")) continue; // a drawn stretch may be too short for its words: the table has them
      const over = [one.scrollWidth - one.clientWidth, one.scrollHeight - one.clientHeight];
      if (Math.max(...over) > 1) found.push(`cut off by ${over} px: ${named(one)}`);
    }
    return found;
  };

  /** WCAG 1.4.12: what a reader's own style may set. A sheet made by a script is none that the policy stops. */
  const SPACING = `* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }
    p { margin-bottom: 2em !important; }`;
  let sheet = null;
  const spaced = (on) => {
    if (!sheet) {
      sheet = new CSSStyleSheet();
      sheet.replaceSync(SPACING);
    }
    document.adoptedStyleSheets = on ? [sheet] : [];
  };

  /** Regions that speak stand outside whatever is swapped, from the beginning. */
  const regions = () => {
    const found = [];
    const live = [...document.querySelectorAll("[role=status], [role=alert], [aria-live]")];
    for (const id of ["said", "warned"]) {
      const one = document.getElementById(id);
      if (!one || !live.includes(one)) found.push(`no live region #${id}`);
    }
    for (const one of document.querySelectorAll("[data-hx-get], [data-hx-post]")) {
      const how = one.dataset.hxTarget;
      const target = how && how !== "this" ? document.querySelector(how) : one;
      if (!target) found.push(`swaps what is not there: ${named(one)}`);
      else if (live.some((region) => target === region || target.contains(region)))
        found.push(`a live region is swapped: ${named(target)}`);
    }
    return found;
  };

  /** Something moves on its own though the person asked for less of it. */
  const moving = () => document.getAnimations().map((one) => `moves: ${named(one.effect.target)}`);

  // ---- the walk with the tabulator: `start` notes what can be reached, `step` looks at what has the focus -----------
  let wanted, seen, last;
  const reach = () =>
    [...document.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex]")].filter((one) => {
      if (one.tabIndex < 0 || one.disabled || one.type === "hidden" || !drawn(one)) return false;
      if (one.type !== "radio") return true;
      const group = [...document.getElementsByName(one.name)].filter((other) => other.form === one.form);
      return one === (group.find((other) => other.checked) || group[0]);
    });
  const ringed = (one) => {
    const style = getComputedStyle(one);
    return style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 1;
  };
  const covered = (one) => {
    // Of a link over two lines each line is a box; one that can be seen and pressed is enough (2.4.11, minimum).
    const boxes = [...one.getClientRects()].filter((box) => box.width && box.height);
    return !boxes.some((box) => {
      const x = (Math.max(box.left, 0) + Math.min(box.right, innerWidth)) / 2;
      const y = (Math.max(box.top, 0) + Math.min(box.bottom, innerHeight)) / 2;
      const top = document.elementFromPoint(x, y);
      return top && (one.contains(top) || top.contains(one) || [...(one.labels || [])].some((l) => l.contains(top)));
    });
  };
  const start = () => {
    if (document.activeElement) document.activeElement.blur();
    window.scrollTo(0, 0);
    document.body.tabIndex = -1;
    document.body.focus();
    document.body.removeAttribute("tabindex");
    wanted = reach();
    seen = new Set();
    last = null;
    return wanted.length;
  };
  const step = () => {
    const one = document.activeElement;
    if (!one || one === document.body || (seen.has(one) && one !== last)) return { over: true, faults: [] };
    const faults = [];
    if (!seen.has(one)) {
      if (covered(one)) faults.push(`focus is not seen on ${named(one)}`);
      if (!ringed(one)) faults.push(`no ring on ${named(one)}`);
      if (last && !(last.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING))
        faults.push(`out of order: ${named(one)}`);
      const [from, to] = [last, one].map((each) => each && each.closest("main") && each.getBoundingClientRect());
      if (from && to && to.bottom < from.top && to.left < from.right && to.right > from.left)
        faults.push(`jumps up to ${named(one)}`);
    }
    seen.add(one);
    last = one;
    return { over: false, faults };
  };
  const missed = () => wanted.filter((one) => !seen.has(one)).map((one) => `never reached: ${named(one)}`);

  return { targets, overflow, clipped, spaced, regions, moving, start, step, missed };
})();

/* What the forms need of the browser: one effect a press, an answer in view, and what a screen reader is to be told.
 *
 * Written by hand in the form that JupyterLab loads: nothing is built.
 */
(function () {
  'use strict';

  /* What a screen reader needs and the controls do not say themselves: which buttons belong together and which is
   * pressed, what a fold is, and where the page answers. */
  function tell(root) {
    for (const group of root.querySelectorAll('.reedlab .widget-toggle-buttons')) {
      const label = group.querySelector(':scope > .widget-label');
      set(group, 'role', 'group');
      set(group, 'aria-label', label ? label.textContent : '');
    }
    for (const button of root.querySelectorAll('.reedlab .widget-toggle-buttons button, .reedlab .widget-toggle-button')) {
      const fold = button.classList.contains('reedlab-fold');
      set(button, fold ? 'aria-expanded' : 'aria-pressed', String(button.classList.contains('mod-active')));
    }
    for (const untold of root.querySelectorAll('.reedlab [title=null]')) {
      untold.removeAttribute('title');
    }
    for (const button of root.querySelectorAll('.reedlab .jupyter-button[title]')) {
      const text = button.textContent.trim();
      // A tip that says the button's own words and more is its name, so that one who speaks them finds it; or a sign's.
      if (button.title !== text && (text.length === 1 || button.title.toLowerCase().includes(text.toLowerCase()))) {
        set(button, 'aria-label', button.title);
      } else {
        button.removeAttribute('aria-label');
      }
    }
    for (const files of root.querySelectorAll('.reedlab .jupyter-widget-file-upload, .reedlab .widget-upload')) {
      const text = files.lastChild; // how many files are chosen is said once there are any
      if (text && text.nodeType === Node.TEXT_NODE && text.data.endsWith(' (0)')) {
        text.data = text.data.slice(0, -4);
      }
    }
    root.querySelectorAll('.reedlab-steps').forEach(step);
    for (const said of root.querySelectorAll('.reedlab-said')) {
      set(said, 'role', 'status');
      set(said, 'aria-live', 'polite');
      answer(said);
    }
    refocus();
  }

  function set(node, name, value) {
    if (node.getAttribute(name) !== value) {
      node.setAttribute(name, value);
    }
  }

  function keepTelling() {
    let asked = false;
    new MutationObserver(() => {
      if (!asked) {
        asked = true;
        requestAnimationFrame(() => { asked = false; tell(document); });
      }
    }).observe(document.body, { subtree: true, childList: true, attributes: true, attributeFilter: ['class', 'disabled'] });
  }

  /* A double click is one click: its second half must not press what the first has just brought in its place. Nor
   * does a key that is held down press again and again. */
  let pressed = { at: 0, button: null, shut: false };

  function once(event) {
    const button = event.target.closest && event.target.closest('.reedlab button');
    if (!button) {
      return;
    }
    if (event.type === 'keydown' ? event.repeat && (event.key === 'Enter' || event.key === ' ') : event.detail > 1) {
      event.stopPropagation();
      event.preventDefault();
    } else if (event.type === 'click') {
      pressed = { at: Date.now(), button, shut: false };
    }
  }

  /* A step of several begins at its head, wherever the step before it ended. */
  let at = '';

  function step(steps) {
    const now = (steps.querySelector('[aria-current]') || steps).textContent;
    if (at && now !== at && steps.offsetParent) {
      steps.scrollIntoView({ block: 'start' });
    }
    at = now;
  }

  /* The answer to a press comes into view, with the question that it may ask; and the focus, which a button loses
   * while it is shut, comes back to it. */
  const told = new WeakMap();

  function answer(said) {
    const text = said.textContent.trim();
    if (told.get(said) === text) {
      return;
    }
    const before = told.has(said);
    told.set(said, text);
    if (text && before && Date.now() - pressed.at < 60000) {
      const asks = said.nextElementSibling;
      (asks && asks.offsetParent ? asks : said).scrollIntoView({ block: 'nearest' });
      said.scrollIntoView({ block: 'nearest' });
    }
  }

  function refocus() {
    const { button, shut } = pressed;
    pressed.shut = button !== null && button.disabled;
    if (shut && !pressed.shut && document.activeElement === document.body && button.offsetParent) {
      button.focus({ preventScroll: true });
    }
  }

  /* In a row of rating buttons the arrow keys go along, as in any set of choices; Tab leaves it. */
  function arrows(event) {
    const at = event.target.closest && event.target.closest('.reedlab-rating .widget-toggle-buttons button');
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (at && step && !event.ctrlKey && !event.metaKey && !event.altKey) {
      const all = [...at.parentElement.querySelectorAll('button')];
      all[(all.indexOf(at) + step + all.length) % all.length].focus();
      event.preventDefault();
    }
  }

  const plugin = {
    id: 'reedlab-forms:presses-and-names',
    autoStart: true,
    activate: () => {
      keepTelling();
      document.addEventListener('keydown', arrows);
      document.addEventListener('click', once, true);
      document.addEventListener('keydown', once, true);
    }
  };

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB['reedlab-forms'] = {
    init: () => Promise.resolve(),
    get: () => Promise.resolve(() => ({ __esModule: true, default: plugin }))
  };
})();

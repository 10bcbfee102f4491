/* Runs reedlab's own pages when they are opened, so that a player finds the forms ready.
 *
 * Only a notebook that has the name and, cell for cell, the text of a page as shipped is run: the server, which
 * asks the installed package, tells their fingerprints. A notebook from anywhere else waits for the player, whatever
 * its metadata say, and so does a page that the player has edited. Without this file all works the same after menu
 * Run, Run All Cells. Written by hand in the form that JupyterLab loads: nothing is built.
 */
(function () {
  'use strict';

  const seen = new WeakSet();
  const minded = new WeakSet();
  const pages = new WeakSet();
  let prints = null;
  let tidied = false;

  function sources(model) {
    return model.sharedModel.cells.map(cell => cell.getSource()).join('\u0000');
  }

  /* The fingerprints of our pages by name, fetched once. */
  function fingerprints(app) {
    const server = app.serviceManager.serverSettings;
    prints = prints || fetch(server.baseUrl + 'reedlab/pages', {
      headers: server.token ? { Authorization: 'token ' + server.token } : {}
    }).then(answer => (answer.ok ? answer.json() : Promise.reject(new Error('no fingerprints'))));
    prints.catch(() => { prints = null; });
    return prints;
  }

  /* Is this one of our pages, unchanged? */
  async function ours(app, widget) {
    const model = widget.content && widget.content.model;
    if (!model || !model.sharedModel || !model.sharedModel.cells) {
      return false;
    }
    const bytes = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(sources(model)));
    const print = [...new Uint8Array(bytes)].map(b => b.toString(16).padStart(2, '0')).join('');
    const known = await fingerprints(app);
    const same = Object.hasOwn(known, widget.context.path) && known[widget.context.path] === print;
    same ? pages.add(widget) : pages.delete(widget);
    return same;
  }

  /* A form that works changes the page's outputs, which are made anew each time: nothing to be saved,
   * so the browser need not ask when the player leaves. Cells that the player edits are saved as ever. */
  function keepClean(model) {
    const asShipped = sources(model);
    const settle = () => {
      if (model.dirty && sources(model) === asShipped) {
        model.dirty = false;
      }
    };
    model.stateChanged.connect((_, change) => {
      if (change.name === 'dirty' && change.newValue) {
        setTimeout(settle, 0);
      }
    });
    settle();
  }

  /* Another page may have written to the logbook since, or a new day begun: have the forms look again.
   * What is typed and not yet saved stays. */
  function lookAgain(widget) {
    const session = widget && pages.has(widget) && widget.context.sessionContext.session;
    if (session && session.kernel) {
      session.kernel.requestExecute({
        code: 'from reedlab import forms as _reedlab_forms; _reedlab_forms.bring_up_to_date()',
        silent: true,
        store_history: false
      });
    }
  }

  /* The kernel died and was started again: the forms in sight are dead too. Show fresh ones, and say so. */
  function mind(app, widget) {
    const session = widget.context.sessionContext;
    let died = false;
    session.statusChanged.connect((_, status) => {
      if (status === 'autorestarting' || status === 'restarting' || status === 'dead') {
        died = true;
      } else if (died && status === 'idle') {
        died = false;
        setTimeout(() => startAgain(app, widget).catch(error => console.error(error)), 300);
      }
    });
  }

  async function startAgain(app, widget) {
    if (widget.isDisposed) {
      return;
    }
    if (app.shell.currentWidget !== widget) {
      seen.delete(widget); // its turn comes when it is shown
      return;
    }
    if (!(await ours(app, widget))) {
      return;
    }
    await app.commands.execute('notebook:run-all-cells');
    widget.node.querySelectorAll('.reedlab-again').forEach(old => old.remove());
    const note = document.createElement('div');
    note.className = 'reedlab-again';
    note.setAttribute('role', 'alert');
    note.textContent = 'This page had to start again. What you saved is safe and stands in your logbook. ' +
      'What you had typed and not saved is gone: please enter it once more. ';
    const close = document.createElement('button');
    close.type = 'button';
    close.textContent = 'All right';
    close.addEventListener('click', () => note.remove());
    note.appendChild(close);
    widget.node.appendChild(note);
  }

  async function ready(app, widget) {
    if (!widget || !widget.context) {
      return;
    }
    if (seen.has(widget)) {
      lookAgain(widget);
      return;
    }
    seen.add(widget);
    await widget.context.ready;
    await widget.revealed;
    if (!(await ours(app, widget))) {
      return;
    }
    widget.addClass('reedlab-page');
    if (!tidied) {
      tidied = true;
      app.shell.collapseLeft();
      app.shell.collapseRight();
    }
    keepClean(widget.content.model);
    if (!minded.has(widget)) {
      minded.add(widget);
      mind(app, widget);
    }
    await widget.context.sessionContext.ready;
    if (widget.isDisposed || app.shell.currentWidget !== widget) {
      seen.delete(widget);
      return;
    }
    await app.commands.execute('notebook:run-all-cells');
    widget.content.activeCellIndex = 0;
    widget.content.mode = 'command';
    widget.content.node.scrollTop = 0;
  }

  /* A key pressed on a page is for its forms: x must not cut a cell, nor a add one. With Ctrl, Alt or
   * Command, and in the code for those who open it, keys mean what they always mean. */
  function shieldKeys(event) {
    const at = event.target && event.target.closest ? event.target : null;
    const page = at && at.closest('.reedlab-page');
    if (!page) {
      return;
    }
    const plain = !event.ctrlKey && !event.metaKey && !event.altKey;
    const inForm = at.closest('.reedlab') !== null;
    const shield = plain && !at.closest('.cm-editor') && (inForm || !event.shiftKey);
    at.toggleAttribute('data-lm-suppress-shortcuts', shield); // shortcuts look at the focused control first
    page.toggleAttribute('data-lm-suppress-shortcuts', shield);
  }

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
    for (const button of root.querySelectorAll('.reedlab .jupyter-button[title]')) {
      if (/^[½×]$/.test(button.textContent.trim()) || /^(Save|change|take back)$/.test(button.textContent.trim())) {
        set(button, 'aria-label', button.title);
      } else {
        button.removeAttribute('aria-label');
      }
    }
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

  const style = `
    .reedlab-page:has(.reedlab-day) .jp-Notebook { --jp-notebook-max-width: 70rem; }
    .reedlab-page:has(.reedlab-day) .jp-Notebook .jp-Cell { max-width: 70rem; }
    .reedlab-page:has(.reedlab-day) .jp-Notebook { padding-top: 4px; }
    .reedlab-page:has(.reedlab-day) .jp-RenderedMarkdown h1 { font-size: 1.5rem; margin: 0.2rem 0; }
    .reedlab-page .jp-Notebook { --jp-cell-prompt-width: 0px; --jp-notebook-max-width: 60rem; }
    .reedlab-page .jp-NotebookPanel-toolbar, .reedlab-page .jp-cell-toolbar,
    .reedlab-page .jp-InputPrompt, .reedlab-page .jp-OutputPrompt, .reedlab-page .jp-OutputArea-promptOverlay,
    .reedlab-page .jp-Collapser { display: none; }
    .reedlab-page .jp-Notebook .jp-Cell { max-width: 60rem; margin: 0 auto; background: none; }
    .reedlab-page .jp-Notebook .jp-Cell, .reedlab-page .jp-Notebook .jp-Cell .jp-InputArea { border: 0; }
    .reedlab-page .jp-MarkdownOutput, .reedlab-page .jp-MarkdownCell .jp-RenderedMarkdown {
      border: 0 !important; background: none !important; box-shadow: none !important; }
    .reedlab-page .jp-RenderedMarkdown { font-size: 1rem; line-height: 1.5; padding-left: 0; }
    .reedlab-page .jp-RenderedMarkdown a { text-decoration: underline; }
    .reedlab-page .jp-RenderedMarkdown h2 a { display: inline-block; min-width: 16rem; padding: 0.6rem 1.2rem;
      border: 2px solid #005a94; border-radius: 6px; color: #005a94; text-decoration: none; font-weight: 600; }
    .reedlab-page .jp-RenderedMarkdown h2 a:hover { background: #eef4f9; }
    .reedlab-page .jp-RenderedMarkdown .jp-InternalAnchorLink { display: none; }
    .reedlab-page .jp-CodeCell .jp-InputPlaceholder { display: none; } /* View, Expand All Code shows it */
    .reedlab-page .jp-CodeCell .jp-Cell-inputWrapper { min-height: 0; margin: 0; }
    .reedlab-page .jp-OutputArea-child { display: block; }
    .reedlab-again { position: absolute; left: 0; right: 0; bottom: 0; z-index: 10; padding: 10px 16px; font-size: 16px;
      line-height: 1.45; color: #1a1a1a; background: #fdf6e6; border-left: 6px solid #8a5a00; }
    .reedlab-again button { min-height: 44px; padding: 8px 18px; font-size: 16px; color: #ffffff; background: #005a94;
      border: 1px solid #005a94; border-radius: 4px; }
    .reedlab-page .jp-OutputArea-output { overflow: visible; padding: 0; }
  `;

  const plugin = {
    id: 'reedlab-pages:run-on-open',
    autoStart: true,
    activate: app => {
      const sheet = document.createElement('style');
      sheet.textContent = style;
      document.head.appendChild(sheet);
      keepTelling();
      document.addEventListener('keydown', arrows);
      document.addEventListener('click', once, true);
      document.addEventListener('keydown', once, true);
      window.addEventListener('keydown', shieldKeys, true); // before the shortcuts' own listener
      app.shell.currentChanged.connect((_, change) => {
        ready(app, change.newValue).catch(error => console.error(error));
      });
      /* A link in a form to another page opens it here, like one in the page's text. */
      document.addEventListener('click', event => {
        const link = event.target.closest && event.target.closest('.reedlab a[href$=".ipynb"]');
        if (link) {
          event.preventDefault();
          app.commands.execute('docmanager:open', { path: link.getAttribute('href') });
        }
      });
      document.addEventListener('visibilitychange', () => {
        if (!document.hidden && seen.has(app.shell.currentWidget)) {
          lookAgain(app.shell.currentWidget);
        }
      });
      app.restored.then(() => ready(app, app.shell.currentWidget)).catch(error => console.error(error));
    }
  };

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB['reedlab-pages'] = {
    init: () => Promise.resolve(),
    get: () => Promise.resolve(() => ({ __esModule: true, default: plugin }))
  };
})();

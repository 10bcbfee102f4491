/* Opens reedlab's own pages as pages: run when opened, with a line that leads to the others, without JupyterLab's frame.
 *
 * Only a notebook that has the name and, cell for cell, the text of a page as shipped is run: the server, which
 * asks the installed package, tells their fingerprints. A notebook from anywhere else waits for the player, whatever
 * its metadata say, and so does a page that the player has edited. Without this file all works the same after menu
 * Run, Run All Cells. Written by hand in the form that JupyterLab loads: nothing is built.
 */
(function () {
  'use strict';

  const KEPT = 3; // pages that stay open behind the one in sight
  const root = document.documentElement;
  const { frame, lineOfPages, showCode, plain, nameTheTab, shieldKeys } = new Proxy({}, {
    get: (_, name) => (...given) => window.reedlabFrame[name](...given) // it may come after this file
  });
  const seen = new WeakSet();
  const pages = new WeakSet();
  const typed = new WeakSet();
  const coming = new WeakSet(); // to be run until a form shows
  let recent = [];
  let known = null;

  const wait = on => root.classList.toggle('reedlab-go', on) || root.classList.remove('reedlab-wait');
  const sources = model => model.sharedModel.cells.map(cell => cell.getSource()).join('\u0000');

  function asked(app, what) {
    const server = app.serviceManager.serverSettings;
    return fetch(server.baseUrl + 'reedlab/' + what, {
      cache: 'no-store',
      headers: server.token ? { Authorization: 'token ' + server.token } : {}
    }).then(answer => (answer.ok ? answer.json() : Promise.reject(new Error('no answer to ' + what))));
  }

  /* The fingerprints of our pages by name, and what the line at the top leads to; fetched once. */
  function ourPages(app) {
    known = known || asked(app, 'pages');
    known.catch(() => { known = null; });
    return known;
  }

  /* The file names of our pages. */
  const ourNames = () => (document.querySelector('meta[name=reedlab-pages]') || { content: '' }).content.split(' ');

  /* A tab has sessions of its own: another tab's page of the same name is not joined, or both would hang on one form. */
  function keepToOwnSessions(sessions) {
    const names = ourNames();
    const all = sessions.running.bind(sessions), start = sessions.startNew.bind(sessions), own = new Set();
    sessions.running = function* () {
      for (const model of all()) {
        if (own.has(model.id) || !names.includes(model.path)) {
          yield model;
        }
      }
    };
    sessions.startNew = async (...given) => {
      const session = await start(...given);
      own.add(session.id);
      return session;
    };
  }

  /* Is this one of our pages, unchanged? */
  async function ours(app, widget) {
    const model = widget.content && widget.content.model;
    if (!model || !model.sharedModel || !model.sharedModel.cells) {
      return false;
    }
    const bytes = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(sources(model)));
    const print = [...new Uint8Array(bytes)].map(b => b.toString(16).padStart(2, '0')).join('');
    const { prints } = await ourPages(app);
    const same = Object.hasOwn(prints, widget.context.path) && prints[widget.context.path] === print;
    same ? pages.add(widget) : pages.delete(widget);
    return same;
  }

  const settled = new Set();

  /* A form that works changes the page's outputs, which are made anew each time: nothing to be saved,
   * so the browser need not ask when the player leaves. Cells that the player edits are saved as ever. */
  function keepClean(model) {
    const asShipped = sources(model);
    const settle = () => {
      if (model.isDisposed) {
        settled.delete(settle);
      } else if (model.dirty && sources(model) === asShipped) {
        model.dirty = false;
      }
    };
    settled.add(settle);
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

  /* The page in sight stays current while a phone or another tab writes. */
  function keepCurrent(app) {
    let last = '';
    /* From before any page has read the logbook, so that what is written while the first one opens is seen. */
    asked(app, 'changed').then(now => { last = last || JSON.stringify(now); }, () => {});
    setInterval(async () => {
      const widget = app.shell.currentWidget;
      if (document.hidden || !pages.has(widget)) {
        return;
      }
      const now = await asked(app, 'changed').then(JSON.stringify, () => last);
      if (last && now !== last) {
        lookAgain(widget);
      }
      last = now;
    }, 2000);
  }

  function formShows(widget) {
    return [...widget.node.querySelectorAll('.reedlab, .jp-RenderedText[data-mime-type*=error]')].some(e => e.offsetParent);
  }

  /* This page's cells, whatever JupyterLab takes for the page in sight just now. */
  const runAll = (app, widget) => app.commands.execute(
    'notebook:run-all-cells', { semanticWidget: widget.id, activate: false }).catch(error => console.error(error));

  /* Run a page in sight until a form shows: when it is opened, and whenever its kernel has died. What is asked of a kernel
   * while the line to it is made may be lost: where it has done all that it knows of and no form shows, it is asked again. */
  async function runUntilShown(app, widget) {
    const context = widget.context.sessionContext, until = performance.now() + 60000;
    if (coming.has(widget)) {
      return;
    }
    coming.add(widget);
    await context.ready;
    const own = await ours(app, widget); // the player may have edited it since
    let ran = null, patience = 1000, doneAt = 0;
    for (let tick = 1; own && !formShows(widget) && performance.now() < until; tick++) {
      if (widget.isDisposed || app.shell.currentWidget !== widget) {
        coming.delete(widget); // its turn comes when it is shown
        return;
      }
      if (!ran || performance.now() - doneAt > patience) {
        [ran, patience, doneAt] = [runAll(app, widget), 2 * patience, Infinity];
      } else if (tick % 30 === 0 && context.session && context.session.kernel) {
        const asked = ran, answered = () => { doneAt = asked === ran ? Math.min(doneAt, performance.now()) : doneAt; };
        context.session.kernel.requestKernelInfo().then(answered, () => {}); // it answers after what was asked before
      }
      await new Promise(done => setTimeout(done, 30));
    }
    coming.delete(widget);
    widget.addClass('reedlab-ready');
    plain(widget);
    await ran;
    plain(widget);
    widget.content.activeCellIndex = 0;
    widget.content.mode = 'command';
    widget.content.node.scrollTop = 0;
  }

  /* A kernel died: the page's forms are dead too. They go, and it runs again; where there was one, it says so. */
  function mind(app, widget) {
    // JupyterLab then thinks that its own box was shown already: over the page, once for each page behind it, it is
    // in the way of what this page says itself
    Object.defineProperty(widget, '_autorestarting', { get: () => true, set: () => {} });
    const away = () => widget.content.widgets.forEach(cell => cell.model.outputs && cell.model.outputs.clear());
    away(); // what was saved with the page, by a kernel that is gone
    widget.context.sessionContext.statusChanged.connect((_, status) => {
      if (status === 'autorestarting' || status === 'restarting') {
        away();
        if (widget.hasClass('reedlab-ready')) {
          widget.removeClass('reedlab-ready');
          sayAgain(app, widget).catch(error => console.error(error));
        }
        runUntilShown(app, widget).catch(error => console.error(error));
      }
    });
  }

  /* In sight once the page is. */
  async function sayAgain(app, widget) {
    const { says } = await ourPages(app), note = document.createElement('div'), close = document.createElement('button');
    widget.node.querySelectorAll('.reedlab-again').forEach(old => old.remove());
    note.className = 'reedlab-again';
    note.setAttribute('role', 'alert');
    note.textContent = says.again + ' ';
    close.type = 'button';
    close.textContent = says.close;
    close.addEventListener('click', () => note.remove());
    note.appendChild(close);
    widget.node.appendChild(note);
  }

  /* --- opening, leaving, coming back ------------------------------------------------------------------ */

  function shown(app, widget) {
    showCode(app, widget);
    recent = [widget, ...recent.filter(w => w !== widget && !w.isDisposed)];
    for (const left of recent.slice(KEPT + 1).filter(w => !typed.has(w))) {
      left.close(); // and with it its kernel; it opens again as fast as any other
    }
  }

  /* A page of ours is dressed as one when it is first seen. */
  async function dress(app, widget) {
    await widget.context.ready;
    await widget.revealed;
    if (!(await ours(app, widget))) {
      return;
    }
    widget.addClass('reedlab-page');
    lineOfPages(app, widget, await ourPages(app));
    keepClean(widget.content.model);
    mind(app, widget);
    for (const what of ['input', 'click']) {
      widget.node.addEventListener(what, event => {
        if (what === 'input' || event.target.closest('.widget-toggle-buttons')) {
          typed.add(widget);
        }
      });
    }
  }

  async function ready(app, widget) {
    if (widget && widget.context && !seen.has(widget)) {
      seen.add(widget);
      await dress(app, widget);
    }
    wait(false); // the line of pages is there, and the page itself says that more is to come
    if (!pages.has(widget)) {
      frame(app, true);
      return;
    }
    shown(app, widget);
    widget.hasClass('reedlab-ready') ? lookAgain(widget) : await runUntilShown(app, widget);
  }

  async function open(app, page) {
    const { prints } = await ourPages(app);
    if (Object.hasOwn(prints, page)) {
      const there = recent.find(w => !w.isDisposed && w.context.path === page);
      wait(!there);
      const widget = await app.commands.execute('docmanager:open', { path: page });
      /* A change of light and dark takes the focus with it, and JupyterLab then takes the page before for the one in sight. */
      for (let tries = 0; widget && app.shell.currentWidget !== widget && tries < 50; tries++) {
        await new Promise(done => setTimeout(done, 100));
        app.shell.activateById(widget.id);
      }
    }
  }

  /* The browser's Back and Forward: JupyterLab writes each page into the history, often twice, and reads it only when
   * loaded. A page of ours stands in the address bar by its name, from where the server leads back to it. */
  function backAndForward(app) {
    const push = history.pushState.bind(history), names = ourNames();
    const base = new URL(app.serviceManager.serverSettings.baseUrl, location.href).pathname;
    const file = path => {
      const found = /\/(?:tree|(reeds))\/([^/]+)$/.exec(decodeURIComponent(path));
      return found && (found[1] ? found[2] + '.ipynb' : found[2]);
    };
    history.pushState = (state, title, to) => {
      const url = new URL(to, location.href), page = file(url.pathname);
      if (names.includes(page) && !url.search) { // what JupyterLab asks of itself it must find again
        url.pathname = base + 'reeds/' + page.replace('.ipynb', '');
      }
      if (page && page === file(location.pathname)) {
        history.replaceState(state, title, url.href);
      } else {
        push(state, title, url.href);
      }
    };
    window.addEventListener('popstate', () => {
      const page = file(location.pathname);
      if (page) {
        open(app, page).catch(error => console.error(error));
      }
    });
  }

  const plugin = {
    id: 'reedlab-pages:run-on-open',
    autoStart: true,
    activate: app => {
      ourPages(app);
      /* What was open is not kept: each page that was would want its kernel first, before the one that was asked for. */
      keepToOwnSessions(app.serviceManager.sessions);
      app.serviceManager.workspaces.save = () => Promise.resolve();
      // before JupyterLab's own, which asks whether to leave what is not saved
      window.addEventListener('beforeunload', () => settled.forEach(settle => settle()), true);
      window.addEventListener('keydown', shieldKeys, true); // before the shortcuts' own listener
      backAndForward(app);
      keepCurrent(app);
      const name = nameTheTab(app, widget => pages.has(widget));
      const show = widget => ready(app, widget).then(name).catch(error => {
        wait(false);
        console.error(error);
      });
      app.shell.currentChanged.connect((_, change) => show(change.newValue));
      /* A link to another page opens it here, whether it stands in a form, in the text or in the line at the top. */
      document.addEventListener('click', event => {
        const to = event.target.closest && event.target.closest(
          ':is(.reedlab, .reedlab-line-of-pages, .reedlab-page .jp-RenderedMarkdown) a[href$=".ipynb"]');
        if (to && !event.ctrlKey && !event.metaKey && !event.shiftKey) {
          event.preventDefault();
          event.stopPropagation();
          open(app, to.pathname.split('/').pop()).catch(error => console.error(error));
        }
      }, true);
      document.addEventListener('visibilitychange', () => {
        if (!document.hidden && seen.has(app.shell.currentWidget)) {
          lookAgain(app.shell.currentWidget);
        }
      });
      app.restored.then(() => show(app.shell.currentWidget));
    }
  };

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB['reedlab-pages'] = {
    init: () => Promise.resolve(),
    get: () => Promise.resolve(() => ({ __esModule: true, default: plugin }))
  };
})();

/* What stands around a page: no menus and side bars of JupyterLab, a line that leads to the other pages and to the code,
 * the name in the tab, keys that belong to the forms. Used by reedlab-pages, which knows what is a page of ours.
 *
 * Written by hand in the form that JupyterLab loads: nothing is built.
 */
(function () {
  'use strict';

  const hidden = new Set();
  let codeSeen = false;

  /* JupyterLab's menus and side bars stand around a notebook, not around a page of ours, unless its code is shown. */
  function frame(app, shown) {
    if (shown) {
      hidden.forEach(part => part.show());
      hidden.clear();
      return;
    }
    app.shell.collapseLeft();
    app.shell.collapseRight();
    for (const part of app.shell.layout.widgets || []) {
      const inner = part.id === 'jp-main-content-panel' ? [...part.widgets].filter(w => w.hasClass('jp-SideBar')) : [part];
      for (const each of inner.filter(w => w.isVisible)) {
        each.hide();
        hidden.add(each);
      }
    }
  }

  function link(page, name, short, here) {
    const a = document.createElement('a');
    a.href = page;
    if (name === short) {
      a.textContent = name;
    } else { // a narrow window shows the short name
      a.append(...[['reedlab-long', name], ['reedlab-short', short]].map(([kind, text]) => {
        const part = document.createElement('span');
        part.className = kind;
        part.textContent = text;
        return part;
      }));
    }
    if (page === here) {
      a.setAttribute('aria-current', 'page');
    }
    return a;
  }

  /* Put the line that leads to the other pages, and to the code, on top of a page; under it, that all is invented. */
  function lineOfPages(app, widget, { line, says, invented }) {
    const nav = document.createElement('nav');
    nav.className = 'reedlab-line-of-pages';
    nav.setAttribute('aria-label', says.pages);
    nav.append(...line.map(names => link(...names, widget.context.path)));
    const code = document.createElement('button');
    code.type = 'button';
    code.textContent = says.code;
    code.title = says.show_code;
    code.setAttribute('aria-pressed', 'false');
    code.addEventListener('click', () => {
      codeSeen = !codeSeen;
      showCode(app, widget);
    });
    nav.append(code);
    const scroller = widget.content.node.querySelector('.jp-WindowedPanel-outer') || widget.content.node;
    scroller.prepend(nav);
    if (invented) {
      const note = document.createElement('p');
      note.className = 'reedlab-invented';
      note.textContent = invented;
      nav.after(note);
    }
  }

  /* Show or hide the code of a page, as the player chose last. */
  function showCode(app, widget) {
    if (widget.hasClass('reedlab-code') === codeSeen) {
      frame(app, codeSeen);
      return;
    }
    widget.toggleClass('reedlab-code', codeSeen);
    widget.node.querySelectorAll('.reedlab-line-of-pages button').forEach(
      code => code.setAttribute('aria-pressed', String(codeSeen)));
    frame(app, codeSeen);
    app.commands.execute(codeSeen ? 'notebook:show-all-cell-code' : 'notebook:hide-all-cell-code',
      { semanticWidget: widget.id, activate: false });
  }

  /* For a screen reader a page is a page: no feed of cells, no cell that says it is one. */
  function plain(widget) {
    for (const part of widget.node.querySelectorAll('[role=feed], .jp-Cell[aria-label], .jp-Cell[role]')) {
      part.removeAttribute('role');
      part.removeAttribute('aria-label');
    }
  }

  /* The tab bears the page's name. */
  function nameTheTab(app, isPage) {
    const title = document.querySelector('title');
    const put = () => {
      const widget = app.shell.currentWidget;
      const heading = isPage(widget) && widget.node.querySelector('h1');
      const name = heading ? heading.textContent.replace(/[\s¶]+/g, ' ').trim() : '';
      if (name && !document.title.startsWith(name)) {
        document.title = name;
      }
    };
    new MutationObserver(put).observe(title, { childList: true });
    return put;
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
    const inForm = at.closest('.reedlab, .reedlab-line-of-pages') !== null;
    const shield = plain && !at.closest('.cm-editor') && (inForm || !event.shiftKey);
    at.toggleAttribute('data-lm-suppress-shortcuts', shield); // shortcuts look at the focused control first
    page.toggleAttribute('data-lm-suppress-shortcuts', shield);
  }

  window.reedlabFrame = { frame, lineOfPages, showCode, plain, nameTheTab, shieldKeys };
  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB['reedlab-frame'] = {
    init: () => Promise.resolve(),
    get: () => Promise.resolve(() => ({
      __esModule: true,
      default: { id: 'reedlab-frame:around-a-page', autoStart: true, activate: () => {} }
    }))
  };
})();

'use strict';
(() => {
  /* What is typed stays on the phone until the computer has it in its book, and goes out once. */
  const BOOK = 'reedlab:' + document.body.dataset.book + ':', WAIT = BOOK + 'waiting';
  const SAYS = JSON.parse(document.body.dataset.says);
  const byId = id => document.getElementById(id), memory = {};
  const get = key => { try { return JSON.parse(localStorage.getItem(key)); } catch { return memory[key]; } };
  const put = (key, value) => {
    memory[key] = value;
    try { value?.length ? localStorage.setItem(key, JSON.stringify(value)) : localStorage.removeItem(key); } catch { }
  };
  const waiting = () => get(WAIT) || [];
  const forms = () => document.querySelectorAll('form[data-day]');
  const named = form => form.dataset.day + ':' + form.elements.form.value;
  const draft = name => BOOK + name;
  const fields = form => [...new FormData(form)].filter(([name]) => name !== 'token');
  let busy = false, timer = 0, touched = false, last = '', asking = false;

  function tell(text) {
    byId('bar').hidden = !text;
    if (byId('bar').textContent !== text) { byId('bar').textContent = text; }
  }

  function fill(form, old) {
    for (const e of form.elements) {
      const said = old.filter(([name]) => name === e.name).map(([, value]) => value);
      if (e.type === 'radio' || e.type === 'checkbox') { e.checked = said.includes(e.value); }
      else if (e.name && said.length && (e.type !== 'hidden' || e.name === 'key')) { e.value = said[0]; }
    }
  }

  function restore() {
    const sent = waiting().map(entry => entry.name);
    for (const form of forms()) {
      const old = get(draft(named(form))), mark = form.closest('details').querySelector('.wait');
      if (old && !form.hasAttribute('data-typed')) { fill(form, old); }
      if (sent.includes(named(form))) { mark.hidden = false; mark.textContent = SAYS.waits; }
      else if (old && !form.hasAttribute('data-typed')) { mark.hidden = false; mark.textContent = SAYS.unsaved; }
    }
  }

  function show(text) {
    const fresh = new DOMParser().parseFromString(text.slice(text.indexOf('<body')), 'text/html');
    if (!fresh.getElementById('page')) { return; }
    const said = byId('said'), news = fresh.getElementById('said');
    byId('page').replaceWith(fresh.getElementById('page'));
    said.className = news.className;
    said.innerHTML = news.innerHTML;
    touched = false;
    restore();
    if (said.textContent) { said.focus({ preventScroll: true }); }
    document.querySelector('details[open]')?.scrollIntoView({ block: 'nearest' });
  }

  async function send() {
    clearTimeout(timer);
    if (busy) { return; }
    const entry = waiting()[0];
    if (!entry) { tell(''); return; }
    const stop = new AbortController(), slow = setTimeout(() => stop.abort(), 15000);
    let state = null;
    busy = true;
    try {
      const answer = await fetch(entry.to, {
        method: 'POST', headers: { 'X-Reedlab': 'script' }, signal: stop.signal, cache: 'no-store',
        body: new URLSearchParams([...entry.fields, ['token', byId('page').dataset.token]])
      });
      const text = await answer.text();
      state = answer.headers.get('X-Reedlab');
      if (state) {
        put(WAIT, waiting().filter(other => other.id !== entry.id));
        if (state === 'written') { put(draft(entry.name), null); }
        show(text);
        last = '';
        tell('');
      } else {
        tell(answer.status === 403 ? SAYS.locked : SAYS.busy);
      }
    } catch {
      tell(SAYS.away + ' ' + SAYS.kept.replace('{reeds}', () => waiting().map(e => e.reed).join(', ')));
    } finally {
      clearTimeout(slow);
      busy = false;
    }
    if (waiting().length && (!state || state === 'written')) { timer = setTimeout(send, state ? 0 : 3000); }
  }

  async function look() {
    if (document.hidden) { return; }
    if (waiting().length) { send(); return; }
    if (touched) { return; }
    try {
      const answer = await fetch('/', { cache: 'no-store' });
      if (answer.ok && !touched) { show(await answer.text()); }
    } catch { tell(SAYS.away + ' ' + SAYS.goon); }
  }

  /* The page in sight stays current while the desk or another phone writes. */
  async function watch() {
    if (document.hidden || touched || busy || asking || waiting().length) { return; }
    asking = true;
    try {
      const answer = await fetch('/changed', { cache: 'no-store' }), now = answer.ok ? await answer.text() : '';
      if (last && now && now !== last) { await look(); }
      last = now;
    } catch { }
    asking = false;
  }

  document.addEventListener('input', event => {
    const form = event.target.form;
    touched = true;
    if (form && form.dataset.day) { put(draft(named(form)), fields(form)); }
  });
  document.addEventListener('submit', event => {
    const form = event.target, said = fields(form), name = named(form);
    event.preventDefault();
    const id = name + (form.elements.key ? form.elements.key.value : '');
    const reed = (said.find(([n]) => n === 'reed') || [])[1] || form.closest('details').querySelector('b')?.textContent;
    put(draft(name), said);
    put(WAIT, [...waiting().filter(e => e.id !== id),
      { id, name, reed: reed || SAYS.entry, to: form.getAttribute('action'), fields: said }]);
    restore();
    send();
  });
  document.addEventListener('visibilitychange', look);
  window.addEventListener('online', look);
  window.addEventListener('pageshow', event => { if (event.persisted) { look(); } });
  setInterval(watch, 3000);
  restore();
  send();
})();

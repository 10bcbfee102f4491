'use strict';
(() => {
  const byId = id => document.getElementById(id);
  const D = JSON.parse(byId('plan').textContent), W = D.words, KEY = `reedlab:${D.head.plan}:${D.head.code}`;
  const MAIN = W.better ? 'preference' : 'overall', told = e => W.better?.[e.preference] || e.overall || say(W.min, { n: e.play_min });
  const empty = () => ({ sittings: {}, days: {}, gone: {}, drafts: {}, fresh: 0 });
  const planned = new Map(D.days.map(day => [day.on, day]));
  let kept = true, book = empty(), on = '', asked = '';

  const today = () => new Date().toLocaleDateString('sv');
  const put = (id, text) => { byId(id).textContent = text; };
  const say = (text, words = {}) => Object.entries(words).reduce((t, [k, v]) => t.replaceAll(`{${k}}`, v), text);
  const spoken = (day, more) => new Date(`${day}T12:00`).toLocaleDateString(D.lang, { weekday: more ? 'long' : 'short',
    day: 'numeric', month: more ? 'long' : 'short', ...more });

  function load() {
    if (!kept) { return; }
    try { book = { ...empty(), ...JSON.parse(localStorage.getItem(KEY) || '{}') }; } catch { kept = false; }
  }
  function keep(change) {
    load();
    change(book);
    try {
      const text = JSON.stringify(book);
      localStorage.setItem(KEY, text);
      kept = localStorage.getItem(KEY) === text;
    } catch { kept = false; }
    byId('bar').hidden = kept;
  }
  const how = () => kept ? 'written' : 'asked';
  function tell(kind, head, lines = []) {
    const box = byId('said'), made = (tag, text) => Object.assign(document.createElement(tag), { textContent: text });
    box.className = kind;
    box.replaceChildren(...(head ? [made('b', head), ...lines.map(line => made('li', line))] : []));
    if (head) { box.focus({ preventScroll: true }); }
  }

  const entries = day => Object.entries(book.sittings).filter(([, e]) => !e.gone && e.date === day);
  const piece = id => byId(id).content.firstElementChild.cloneNode(true);
  const typed = form => Object.fromEntries([...new FormData(form)].map(([k, v]) => [k, v.replace(/\s+/g, ' ').trim()]));

  const whole = row => Object.fromEntries(Object.entries(row).filter(e => e[1]));

  function fill(form, values) {
    for (const e of form.elements) {
      if (e.type === 'radio' || e.type === 'checkbox') { e.checked = values[e.name] === e.value; }
      else if (e.name) { e.value = values[e.name] ?? (e.tagName === 'SELECT' ? e.options[0].value : ''); }
    }
  }
  function formFor(line, key) {
    const form = Object.assign(piece('form'), { line, old: key, id: `${on}:${key || line.r}` }), old = key && book.sittings[key];
    form.querySelector('[data-name]').textContent = line.r || W.the_reed;
    if (line.r) { form.querySelector('.own').remove(); }
    form.querySelectorAll('.rate, .half, .other').forEach(part => { part.hidden = line.r && !line.ask; });
    form.querySelector('.back').hidden = !key;
    if (key) { form.querySelector('.save').textContent = W.change; }
    fill(form, book.drafts[form.id] || (old ? {
      ...old, overall: old.overall && String(Math.floor(old.overall)), half: old.overall % 1 ? 'yes' : '',
      reason: book.gone[old.reed]?.date === on ? book.gone[old.reed].reason : ''
    } : { play_min: line.fill ? String(line.m) : '', habit: line.w, where: 'practice', from_memory: on < today() ? 'yes' : '' }));
    return form;
  }
  function lineFor(line, key) {
    const box = piece('line'), part = name => box.querySelector(name), old = key && book.sittings[key];
    const left = book.gone[line.r], out = left?.reason && left.date < on && !key, way = D.ways.find(w => w.key === line.w);
    part('[data-name]').textContent = line.r;
    box.querySelectorAll('.sign').forEach((s, k) => { if (way !== D.ways[k] || !way) { s.remove(); } });
    part('.way').textContent = out ? W.reasons[left.reason] : line.way;
    part('.steps').textContent = !key && !out && way ? way.steps : '';
    part('.state').textContent = key ? `✓ ${on === today() ? told(old) : ''}` : out || !line.m ? '' : say(W.min, { n: line.m });
    part('.wait').textContent = book.drafts[`${on}:${key || line.r}`] ? W.draft : '';
    box.classList.toggle('done', !!key);
    if (!out && on <= today()) { box.append(formFor(line, key)); }
    return box;
  }

  function show() {
    const day = planned.get(on) || { lines: [] }, left = entries(on), said = book.days[on] || {};
    const lines = day.lines.map(line => {
      const at = left.findIndex(([, e]) => e.reed === line.r && e.where === line.p);
      return lineFor(line, at < 0 ? undefined : left.splice(at, 1)[0][0]);
    });
    left.forEach(([key, e]) => lines.push(lineFor({ r: e.reed, way: W.places[e.where], ask: true }, key)));
    put('day', spoken(on, { year: 'numeric' }));
    put('where', day.n ? say(W.day, { n: day.n }) : '');
    byId('lines').replaceChildren(...lines);
    const next = lines.find(box => !box.classList.contains('done') && box.querySelector('form'));
    if (next && said.day_off !== 'yes') { next.open = true; }
    const free = on <= today() ? formFor({ r: '', way: '' }) : '';
    byId('free').replaceChildren(free);
    byId('other').hidden = !free;
    put('note', on > today() ? [day.said, W.future].filter(Boolean).join(' ') : said.day_off === 'yes' ? W.off : [day.said, lines.length ? day.free : W.nothing].filter(Boolean).join(' '));
    fill(byId('air'), said);
    const all = [...new Set([...planned.keys(), today(), ...Object.values(book.sittings).map(e => e.date).filter(Boolean)])].sort();
    byId('pick').replaceChildren(...all.map(d => new Option(
      `${spoken(d)}${d === today() ? W.now : ''}${entries(d).length ? ' ✓' : book.days[d]?.day_off === 'yes' ? ` ${W.short_off}` : ''}`, d, false, d === on)));
    const k = all.indexOf(on);
    [['before', all[k - 1]], ['after', all[k + 1]]].forEach(([id, d]) => Object.assign(byId(id), { disabled: !d, value: d || '' }));
    put('fresh', say(W.fresh[Math.min(book.fresh, 2)], { n: book.fresh }));
  }
  function go(day) { on = day; asked = ''; byId('ready').hidden = true; tell(''); show(); }

  function save(form) {
    const f = typed(form), line = form.line, reed = line.r || f.reed, bad = [], odd = [];
    f.play_min = f.play_min.replace(',', '.');
    const only = f.reason && reed && !f[MAIN] && !form.old && [line.fill && String(line.m), ''].includes(f.play_min);
    if (!reed) { bad.push(W.no_reed); }
    if (!/^\d+(\.\d+)?$/.test(f.play_min) || f.play_min > 720) { bad.push(W.no_minutes); }
    if (line.ask && line.p && !form.old && !f[MAIN]) { bad.push(W.no_rating); }
    if (bad.length && !only) { tell('refused', W.not_saved, bad); return; }
    if (f.play_min > 240) { odd.push(say(W.long, { n: f.play_min, reed })); }
    if (!form.old && entries(on).some(([, e]) => e.reed === reed)) { odd.push(say(W.again, { reed })); }
    if (odd.length && asked !== form.id + odd) { asked = form.id + odd; tell('asked', W.right, odd); return; }
    const { half, reason, ...said } = f, entry = { ...said, date: on, reed, where: line.p || f.where || 'practice',
      overall: f.overall && String(+f.overall + (half && f.overall < 10 ? 0.5 : 0)), setup: line.r && D.setup,
      order: line.o && String(line.o) };
    if (form.old) { const { order, setup, where } = book.sittings[form.old]; Object.assign(entry, { order, setup, where }); }
    keep(b => {
      if (!only) { b.sittings[form.old || `away-${Date.now().toString(36)}-${Math.random().toString(36).slice(2, 10)}`] = whole(entry); }
      if (reason || b.gone[reed]?.date === on) { b.gone[reed] = { date: on, reason }; }
      delete b.drafts[form.id];
      b.fresh += 1;
    });
    go(on);
    tell(how(), say(kept ? W.saved : W.held, { reed, n: only ? W.reasons[f.reason] : told(entry) }));
  }
  function takeBack(form) {
    if (asked !== form.id) { asked = form.id; tell('asked', W.take_back); return; }
    keep(b => { b.sittings[form.old] = { gone: 'yes' }; delete b.drafts[form.id]; b.fresh += 1; });
    go(on);
    tell('written', W.taken);
  }

  function handBack() {
    load();
    const list = (rows, name) => Object.entries(rows).map(([key, row]) => ({ [name]: key, ...row }));
    const body = { ...D.head, sittings: list(book.sittings, 'sitting'), days: list(book.days, 'date'),
      gone: list(book.gone, 'reed') };
    const text = JSON.stringify({ ...body, check: crc32(JSON.stringify(body)) }, null, 1);
    const file = new File([text], `${D.head.code || 'page'}-${today()}.json`, { type: 'application/json' });
    Object.assign(byId('file'), { href: URL.createObjectURL(file), download: file.name });
    byId('text').value = text;
    Object.assign(byId('send'), { hidden: !navigator.canShare?.({ files: [file] }),
      onclick: () => navigator.share({ files: [file] }).then(given, () => {}) });
    byId('ready').hidden = false;
    const n = body.sittings.filter(e => !e.gone).length;
    tell('written', say(W.ready[n === 1 ? 0 : 1], { n }));
  }
  const given = () => { keep(b => { b.fresh = 0; }); show(); };

  function crc32(text) {
    let sum = -1;
    for (const byte of new TextEncoder().encode(text)) {
      sum ^= byte;
      for (let k = 0; k < 8; k++) { sum = sum >>> 1 ^ (sum & 1 ? 0xEDB88320 : 0); }
    }
    return (~sum >>> 0).toString(16).padStart(8, '0');
  }

  document.addEventListener('input', event => {
    const form = event.target.form;
    asked = '';
    if (form?.line) { keep(b => { b.drafts[form.id] = typed(form); }); }
  });
  function saveDay(form) {
    const f = typed(form);
    ['humidity_pct', 'temp_c'].forEach(k => { f[k] = f[k].replace(',', '.').replace('−', '-'); });
    keep(b => { b.days[on] = whole({ ...f, day_off: f.day_off || 'no' }); b.fresh += 1; });
    go(on);
    tell(how(), W.day_saved);
  }
  byId('pick').addEventListener('change', event => go(event.target.value));
  document.addEventListener('submit', event => { event.preventDefault(); (event.target.line ? save : saveDay)(event.target); });
  document.addEventListener('click', event => {
    const it = event.target, id = it.id;
    if (it.matches('.back')) { takeBack(it.form); }
    if (it.matches('.days button')) { go(it.value); }
    if (id === 'give') { handBack(); }
    if (id === 'file') { given(); }
    if (id === 'copy') {
      byId('text').select();
      document.execCommand('copy');
      given();
      tell('written', W.copied);
    }
  });
  window.addEventListener('storage', () => { load(); show(); });
  window.addEventListener('beforeunload', event => { if (!kept && book.fresh) { event.preventDefault(); } });
  byId('page').hidden = false;
  byId('none').hidden = true;
  keep(() => {});
  go(today());
})();

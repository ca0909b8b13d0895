function show(D) {
'use strict';
var $ = function (id) { return document.getElementById(id); };
var PHASE = 0, READ = 1, WRITE = 2, ELEMENT = 3, FIELD = 4, SAMPLE = 5, FAULT = 6, TASK = 7, PAINT = 8;
var ARGS = [1, 2, 3, 2, 1, 2, 1, 0, 2];
var PHASES = ['input refresh', 'program', 'output refresh', 'housekeeping'];
var SOURCES = ['instruction', 'input refresh', 'external write', 'force', 'initialization', 'retained value', 'task image'];
var SVG = 'http://www.w3.org/2000/svg';
var steps = D.steps, items = D.items, els = [], nets = D.networks;

function add(parent, tag, attrs, text) {
  var n = parent.namespaceURI === SVG || tag === 'svg' ? document.createElementNS(SVG, tag) : document.createElement(tag);
  for (var k in attrs || {}) { n.setAttribute(k, attrs[k]); }
  if (text !== undefined) { n.textContent = text; }
  parent.appendChild(n);
  return n;
}
function clear(n) { n.textContent = ''; }
function txt(v) { return v < 0 ? 'not yet' : D.texts[v]; }
function bit(v) { var t = v < 0 ? '' : D.texts[v]; return t === 'TRUE' ? 1 : t === 'FALSE' ? 0 : -1; }
function badge(v, bool) {
  var s = document.createElement('span');
  if (v < 0) {
    s.className = 'v none'; s.textContent = '–'; add(s, 'span', {'class': 'sr'}, ' not sampled');
  } else if (bool) {
    var b = bit(v);
    s.className = 'v ' + (b ? 'one' : 'zero'); s.textContent = b ? '1' : '0'; add(s, 'span', {'class': 'sr'}, b ? ' TRUE' : ' FALSE');
  } else {
    s.className = 'v text'; s.textContent = txt(v);
  }
  return s;
}
function truth(b, on, off) {
  var s = document.createElement('span');
  s.className = 'v ' + (b < 0 ? 'none' : b ? 'one' : 'zero');
  s.textContent = b < 0 ? '–' : b ? '1' : '0';
  add(s, 'span', {'class': 'sr'}, b < 0 ? ' unknown' : b ? ' ' + on : ' ' + off);
  return s;
}
function ms(ns) {
  var s = (ns / 1e6).toFixed(6).replace(/0+$/, '').replace(/\.$/, '');
  return s + ' ms';
}

// ---- model -------------------------------------------------------------------------------------------------------------
nets.forEach(function (n, ni) { n.els.forEach(function (e) { e.net = ni; els[e.e] = e; }); });

function decode(run, s) {
  var row = D.rows[run.scans[s][1]], tp = D.templates[row[0]], out = [], t0 = run.scans[s][0], inside = s - 1;
  for (var i = 0; i < tp.length / 2; i++) {
    var t = t0 + tp[2 * i], sh = D.shapes[tp[2 * i + 1]], va = D.values[D.groups[row[1 + Math.floor(i / 8)]][i % 8]], v = 0;
    for (var j = 0; j < sh.length;) {
      var k = sh[j++], e = {k: k, t: t += sh[j++]};
      for (var a = 0; a < ARGS[k]; a++) { e['a' + a] = sh[j++]; }
      if (k !== PHASE) { e.v = va[v++]; } else { inside = s; }
      e.s = inside;
      out.push(e);
    }
  }
  return out;
}
// Events that belong together in one moment: the element's read, decision and write; one refresh; one sample.
function joins(m, e) {
  var l = m.ev[m.ev.length - 1];
  if (e.k === PAINT) { return true; }
  if (e.k === SAMPLE) { return l.k !== PHASE && (m.ev[0].k === SAMPLE) && m.ev[0].a0 === e.a0 && e.a1 >= 0; }
  if (e.k === WRITE && e.a2 === 1) {
    return m.ev[0].t === e.t && (m.ev[0].k === PHASE && m.ev[0].a0 === 0 || m.ev[0].k === WRITE && m.ev[0].a2 === 1) && m.ev.every(function (x) {
      return x.k === PHASE || x.k === WRITE && x.a2 === 1;
    });
  }
  if (e.k === FIELD) {
    return m.ev[0].t === e.t && (m.ev[0].k === PHASE && m.ev[0].a0 === 2 || m.ev[0].k === FIELD);
  }
  var a = stepOf(m.ev[0]), b = stepOf(e);
  if (a < 0 || b < 0) { return false; }
  if (e.k === WRITE && e.a2 !== 0 || m.ev[0].k === WRITE && m.ev[0].a2 !== 0) { return false; }
  var x = steps[a][8], y = steps[b][8];
  if (x < 0 || x !== y) { return false; }
  // a second evaluation of the same element (a loop, another instance) is a moment of its own
  return !(e.k === ELEMENT && m.ev.some(function (z) { return z.k === ELEMENT; }));
}
function stepOf(e) { return e.k === READ || e.k === WRITE || e.k === ELEMENT || e.k === FAULT ? e.a0 : -1; }

function blank(run) {
  function fill(n, v) { var a = []; for (var i = 0; i < n; i++) { a.push(v); } return a; }
  return {
    mem: run.mem.slice(), fld: run.fld.slice(),
    disp: run.displays.map(function () { return fill(items.length, -1); }),
    from: run.displays.map(function () { return fill(items.length, -2); }),
    paint: run.displays.map(function () { return fill(els.length, -1); }),
    exec: fill(els.length, -1), pow: fill(els.length, -1), phase: -1
  };
}
function copy(st) {
  return {
    mem: st.mem.slice(), fld: st.fld.slice(), disp: st.disp.map(function (a) { return a.slice(); }), from: st.from.map(function (a) { return a.slice(); }),
    paint: st.paint.map(function (a) { return a.slice(); }), exec: st.exec.slice(), pow: st.pow.slice(), phase: st.phase
  };
}
function apply(st, e) {
  switch (e.k) {
    case PHASE: st.phase = e.a0; break;
    case READ: if (e.a1 >= 0) { st.mem[e.a1] = e.v; } break;
    case WRITE: if (e.a1 >= 0) { st.mem[e.a1] = e.v; } break;
    case ELEMENT: st.exec[e.a1] = e.v & 1; st.pow[e.a1] = e.v >> 1; break;
    case FIELD: st.fld[e.a0] = e.v; break;
    case SAMPLE: if (e.a1 >= 0) { st.disp[e.a0][e.a1] = e.v; st.from[e.a0][e.a1] = e.s; } break;
    case PAINT: st.paint[e.a0][e.a1] = e.v; break;
  }
}
var KEEP = 32;
function stateBefore(run, s) {
  run.keys = run.keys || [blank(run)];
  var k = Math.min(Math.floor(s / KEEP), run.keys.length - 1), st = copy(run.keys[k]);
  for (var i = k * KEEP; i < s; i++) {
    if (i % KEEP === 0 && i / KEEP >= run.keys.length) { run.keys.push(copy(st)); }
    decode(run, i).forEach(function (e) { apply(st, e); });
  }
  if (s % KEEP === 0 && s / KEEP === run.keys.length) { run.keys.push(copy(st)); }
  return st;
}
// What differs now, as a set of keys: fI: field of item, dN.I: display N, pN.E: painted state of element E.
function gapsOf(run, st) {
  var g = {};
  items.forEach(function (it, i) {
    if (it.d && st.fld[i] >= 0 && st.fld[i] !== st.mem[i]) { g['f' + i] = 1; }
    for (var d = 0; d < st.disp.length; d++) {
      if (st.disp[d][i] >= 0 && st.disp[d][i] !== st.mem[i]) { g['d' + d + '.' + i] = 1; }
    }
  });
  els.forEach(function (x, i) {
    for (var d = 0; d < st.paint.length; d++) {
      if (st.paint[d][i] >= 0 && st.exec[i] >= 0 && st.paint[d][i] !== st.exec[i]) { g['p' + d + '.' + i] = 1; }
    }
  });
  return g;
}
function retest(run, st, g, e) {
  var i, d, fresh = [];
  function set(key, differs, say) { if (differs) { if (!g[key]) { g[key] = 1; fresh.push(say); } } else { delete g[key]; } }
  i = e.k === READ || e.k === WRITE ? e.a1 : e.k === FIELD ? e.a0 : e.k === SAMPLE ? e.a1 : -1;
  if (i >= 0) {
    if (items[i].d) { set('f' + i, st.fld[i] >= 0 && st.fld[i] !== st.mem[i], ['field ' + items[i].n, st.fld[i], st.mem[i], 0]); }
    for (d = 0; d < st.disp.length; d++) {
      set('d' + d + '.' + i, st.disp[d][i] >= 0 && st.disp[d][i] !== st.mem[i], ['“' + run.displays[d].n + '”', st.disp[d][i], st.mem[i], 1, items[i].n]);
    }
  }
  i = e.k === ELEMENT || e.k === PAINT ? e.a1 : -1;
  if (i >= 0) {
    for (d = 0; d < st.paint.length; d++) {
      set('p' + d + '.' + i, st.paint[d][i] >= 0 && st.exec[i] >= 0 && st.paint[d][i] !== st.exec[i], ['“' + run.displays[d].n + '”', st.paint[d][i], st.exec[i], 2, kindWord(els[i]) + ' ' + els[i].t]);
    }
  }
  return fresh;
}
var cache = {run: null, s: -1, v: null};
// The scan as moments, with their words and whether a disagreement begins there.
function view(run, s) {
  if (cache.run === run && cache.s === s) { return cache.v; }
  var st = stateBefore(run, s), g = gapsOf(run, st), out = [], ev = decode(run, s), start = copy(st), m = null, ph = -1, task = '';
  ev.forEach(function (e) {
    if (m === null || !joins(m, e)) { m = {ev: [], words: '', gap: false, fresh: [], step: -1, t: e.t, was: {}, ph: ph, task: task}; out.push(m); }
    if (e.k === PHASE) { ph = e.a0; m.ph = ph; }
    if (e.k === TASK) { var w = taskWords(e); task = w[1] === 'start' || w[1] === 'resume' ? w[0] : w[1] === 'end' || w[1] === 'preempted' || w[1] === 'waits' ? '' : task; m.task = w[0]; }
    if (stepOf(e) >= 0) { m.step = stepOf(e); }
    e.was = e.k === WRITE || e.k === READ ? (e.a1 >= 0 ? st.mem[e.a1] : -1) : e.k === FIELD ? st.fld[e.a0] : e.k === SAMPLE && e.a1 >= 0 ? st.disp[e.a0][e.a1] : -1;
    m.ev.push(e);
    apply(st, e);
    retest(run, st, g, e).forEach(function (f) { m.gap = true; m.fresh.push(f); });
  });
  out.forEach(function (x) { x.words = words(run, x); });
  if (!out.length) { out.push({ev: [], words: 'nothing happened', gap: false, fresh: [], step: -1, t: run.scans[s][0], ph: -1, task: ''}); }
  cache = {run: run, s: s, v: {moments: out, start: start, end: st, gaps: g}};
  return cache.v;
}
function at(run, s, k) {
  var v = view(run, s), st = copy(v.start);
  for (var i = 0; i <= k && i < v.moments.length; i++) { v.moments[i].ev.forEach(function (e) { apply(st, e); }); }
  return st;
}

// ---- words -------------------------------------------------------------------------------------------------------------
function name(i) { return i < 0 ? 'a temporary' : items[i].n; }
function value(v) { var b = bit(v); return b < 0 ? txt(v) : String(b); }
function change(e, i) { return name(i) + ' = ' + value(e.v) + (e.was >= 0 && e.was !== e.v ? ' (was ' + value(e.was) + ')' : ''); }
// A task's event is its name and a word.
function taskWords(e) { var t = txt(e.v), at = t.lastIndexOf(' '); return at < 0 ? ['', t] : [t.slice(0, at), t.slice(at + 1)]; }
var TASKS = {
  start: 'starts', end: 'ends', preempted: 'is preempted: a task of higher priority is due', resume: 'goes on where it was preempted',
  overrun: 'is due again before it has ended; it will run late', lost: 'is due again before it has ended; this activation is lost', waits: 'waits for a lock'
};
// What begins to differ, in words; the first few.
function gapWords(m) {
  var out = m.fresh.slice(0, 3).map(function (f) {
    return f[3] === 0 ? f[0] + ' is ' + value(f[1]) + ', memory has ' + value(f[2]) : f[3] === 1 ? f[0] + ' still shows ' + f[4] + ' = ' + value(f[1]) + ', memory has ' + value(f[2])
      : f[0] + ' paints ' + f[4] + ' as ' + f[1] + ', executed was ' + f[2];
  });
  return 'From here on: ' + out.join('; ') + (m.fresh.length > 3 ? '; and ' + (m.fresh.length - 3) + ' more' : '');
}
function words(run, m) {
  var f = m.ev[0];
  if (f.k === PHASE) {
    var more = m.ev.slice(1).filter(function (e) { return e.k === WRITE || e.k === FIELD; }).map(function (e) { return change(e, e.k === FIELD ? e.a0 : e.a1); });
    var p = PHASES[f.a0];
    return p.charAt(0).toUpperCase() + p.slice(1) + (more.length ? (f.a0 === 0 ? ' stores ' : ' delivers ') + more.join(', ') : ' begins');
  }
  if (f.k === SAMPLE) {
    var seen = m.ev.filter(function (e) { return e.k === SAMPLE && e.a1 >= 0 && e.was !== e.v; }).map(function (e) { return change(e, e.a1); });
    return 'Display “' + run.displays[f.a0].n + '” samples' + (seen.length ? ': ' + seen.join(', ') : ', nothing new');
  }
  if (f.k === FIELD) { return 'Field: ' + m.ev.filter(function (e) { return e.k === FIELD; }).map(function (e) { return change(e, e.a0); }).join(', '); }
  if (f.k === FAULT) { return 'Fault: ' + txt(f.v); }
  if (f.k === TASK) { var tw = taskWords(f); return 'Task ' + tw[0] + ' ' + (TASKS[tw[1]] || tw[1]); }
  if (f.k === WRITE && f.a2 !== 0) {
    var s = SOURCES[f.a2];
    return s.charAt(0).toUpperCase() + s.slice(1) + ': ' + m.ev.filter(function (e) { return e.k === WRITE; }).map(function (e) { return change(e, e.a1); }).join(', ');
  }
  var st = steps[m.step], x = st && st[8] >= 0 ? els[st[8]] : null, parts = [];
  m.ev.forEach(function (e) {
    if (e.k === READ) { parts.push('reads ' + name(e.a1) + ' = ' + value(e.v)); }
    if (e.k === WRITE) { parts.push('writes ' + change(e, e.a1)); }
    if (e.k === ELEMENT) {
      if (x && (x.k === 'contact' || x.k === 'compare')) {
        parts.push((e.v & 1 ? 'conducts' : 'does not conduct') + (e.v & 1 && !(e.v >> 1) ? ', but no power reaches it' : e.v >> 1 ? ', power goes on' : ''));
      } else {
        parts.push(x && x.k === 'box' ? (e.v & 1 ? 'is executed' : 'is not executed') : e.v & 1 ? 'has power' : 'has no power');
      }
    }
  });
  if (x) {
    return networkName(nets[x.net]) + ', ' + kindWord(x) + ' ' + x.t + ': ' + parts.join('; ');
  }
  return (st ? (st[0] < 0 || st[6] !== 0 && D.sources.length > 1 ? 'In ' + D.bodies[st[6]] + ', line ' : 'Line ') + st[1] + ': ' : '') + parts.join('; ');
}
var severalBodies = nets.some(function (n) { return n.b !== nets[0].b; });
function networkName(n) { return 'Network ' + n.n + (severalBodies ? ' of ' + D.bodies[n.b] : ''); }
var MARKS = {'/': 'negated ', P: 'rising-edge ', N: 'falling-edge ', S: 'set ', R: 'reset '};
function kindWord(x) { return (MARKS[x.m] || '') + (x.k === 'compare' ? 'compare contact' : x.k); }

// ---- position ----------------------------------------------------------------------------------------------------------
var run = D.runs[0], R = 0, S = 0, K = 0;
var shown = null;
function clampTo(s, k) {
  S = Math.max(0, Math.min(run.scans.length - 1, s));
  var n = view(run, S).moments.length;
  K = k < 0 ? n - 1 : Math.min(k, n - 1);
}
function go(s, k) { clampTo(s, k); paintAll(); }
function step(d) {
  if (d > 0) {
    if (K + 1 < view(run, S).moments.length) { go(S, K + 1); } else if (S + 1 < run.scans.length) { go(S + 1, 0); } else { say('This is the last step.'); }
  } else if (K > 0) { go(S, K - 1); } else if (S > 0) { go(S - 1, -1); } else { say('This is the first step.'); }
}
function hunt(d, wanted, none) {
  var s = S, k = K + d;
  for (;;) {
    var ms2 = view(run, s).moments;
    if (d > 0 ? k >= ms2.length : k < 0) {
      s += d;
      if (s < 0 || s >= run.scans.length) { say(none); return; }
      k = d > 0 ? 0 : view(run, s).moments.length - 1;
      continue;
    }
    if (wanted(ms2[k])) { go(s, k); return; }
    k += d;
  }
}
function gap(d) { hunt(d, function (m) { return m.gap; }, d > 0 ? 'No further disagreement in this run.' : 'No earlier disagreement in this run.'); }
function brk(d) {
  var i = parseInt($('watch').value, 10);
  if (isNaN(i)) { say('Choose a variable for the breakpoint first.'); $('watch').focus(); return; }
  hunt(d, function (m) {
    return m.ev.some(function (e) {
      return e.was >= 0 && e.was !== e.v && (e.k === WRITE && e.a1 === i || e.k === FIELD && e.a0 === i || e.k === SAMPLE && e.a1 === i);
    });
  }, 'No ' + (d > 0 ? 'further' : 'earlier') + ' change of ' + items[i].n + ' in this run.');
}
function find() {
  var q = $('search').value.trim().toLowerCase();
  if (!q) { say('Type a name or words to search for.'); return; }
  hunt(1, function (m) { return m.words.toLowerCase().indexOf(q) >= 0; }, 'No later step mentions “' + q + '”.');
}
function say(t) { clear($('now')); $('now').textContent = t; add($('now'), 'small', {}, where()); }
function where() {
  return 'Run ' + (R + 1) + ', scan ' + (S + 1) + ' of ' + run.scans.length + ', step ' + (K + 1) + ' of ' + view(run, S).moments.length + ', ' + ms(view(run, S).moments[K].t) + (view(run, S).moments[K].task ? ', task ' + view(run, S).moments[K].task : '');
}
function setRun(i) {
  if (i < 0 || i >= D.runs.length) { return; }
  R = i; run = D.runs[i]; $('run').value = String(i); shown = null;
  $('scanrange').max = String(run.scans.length);
  clear($('disp'));
  run.displays.forEach(function (d, k) { add($('disp'), 'option', {value: k}, d.n + ', ' + d.p); });
  if (run.show === undefined) { run.show = 0; }
  $('disp').value = String(run.show);
  buildHeads(); marks();
  clampTo(S, K);
  paintAll();
}

// ---- pictures ----------------------------------------------------------------------------------------------------------
var CW = 9, RH = 28;
function picture(parent, n, id) {
  var w = (n.cols + 2) * CW, h = (n.rows + 0.7) * RH;
  var svg = add(parent, 'svg', {'class': 'ld', viewBox: '0 0 ' + w + ' ' + h, width: w, height: h, role: 'img', id: id});
  function X(c) { return (c - n.c0 + 1) * CW; }
  function Y(r) { return (r - n.r0 + 0.55) * RH; }
  var parts = {svg: svg, links: [], els: {}};
  n.rails.forEach(function (r) { add(svg, 'line', {'class': 'rail', x1: X(r[0]), x2: X(r[0]), y1: Y(n.r0) - 8, y2: Y(n.r0 + n.rows - 1) + 8}); });
  n.segs.forEach(function (s) {
    parts.links.push({n: add(svg, 'line', {'class': 'lk', x1: X(s[1]), y1: Y(s[0]), x2: X(s[3]), y2: Y(s[2])}), from: s[4]});
  });
  n.els.forEach(function (e) {
    var g = add(svg, 'g', {}), y = Y(e.r), x0 = X(e.c), x1 = X(e.c + e.w - 1), mid = (x0 + x1) / 2;
    if (e.k === 'box') {
      var top = Y(e.r), bottom = Y(e.r + e.h - 1);
      add(g, 'rect', {'class': 'hit', x: x0 - 4, y: top - 4, width: x1 - x0 + 8, height: bottom - top + 8, rx: 4});
      add(g, 'rect', {'class': 'bx', x: x0, y: top, width: x1 - x0, height: bottom - top, rx: 2});
    } else {
      add(g, 'rect', {'class': 'hit', x: x0 - 8, y: y - 12, width: x1 - x0 + 16, height: 34, rx: 4});
      if (e.k === 'contact' || e.k === 'compare') {
        add(g, 'line', {'class': 'sh', x1: x0 - CW, y1: y, x2: x0, y2: y});
        add(g, 'line', {'class': 'sh', x1: x1, y1: y, x2: x1 + CW, y2: y});
        add(g, 'line', {'class': 'sh', x1: x0, y1: y - 8, x2: x0, y2: y + 8});
        add(g, 'line', {'class': 'sh', x1: x1, y1: y - 8, x2: x1, y2: y + 8});
        if (e.m.trim()) { add(g, 'text', {x: mid, y: y + 4}, e.m); }
      } else if (e.k === 'coil') {
        add(g, 'line', {'class': 'sh', x1: x0 - CW, y1: y, x2: x0 - 2, y2: y});
        if (n.segs.some(function (q) { return q[0] === e.r && q[2] === e.r && q[1] <= e.c + e.w + 1 && q[3] > e.c + e.w - 1; })) {
          add(g, 'line', {'class': 'sh', x1: x1 + 2, y1: y, x2: x1 + CW, y2: y});
        }
        add(g, 'path', {'class': 'sh', d: 'M' + (x0 + 3) + ' ' + (y - 8) + ' Q' + (x0 - 5) + ' ' + y + ' ' + (x0 + 3) + ' ' + (y + 8)});
        add(g, 'path', {'class': 'sh', d: 'M' + (x1 - 3) + ' ' + (y - 8) + ' Q' + (x1 + 5) + ' ' + y + ' ' + (x1 - 3) + ' ' + (y + 8)});
        if (e.m.trim()) { add(g, 'text', {x: mid, y: y + 4}, e.m); }
      } else {
        add(g, 'line', {'class': 'sh', x1: x0 - CW, y1: y, x2: x0, y2: y});
        add(g, 'text', {x: mid, y: y + 4}, e.k === 'return' ? 'RETURN' : '≫ ' + e.t);
      }
    }
    if (e.k !== 'jump' && e.k !== 'return') {
      var b = add(g, 'g', {'class': 'bg'}), by = e.k === 'box' ? Y(e.r) - 6 : y + 8, bx = e.k === 'box' ? x1 - 8 : mid;
      if (e.k !== 'box') {
        add(b, 'rect', {x: bx - 6, y: by + 1, width: 12, height: 11, rx: 2});
        add(b, 'text', {x: bx, y: by + 10}, '–');
        var fl = add(g, 'g', {'class': 'flag'});
        add(fl, 'text', {x: bx + 9, y: by + 10}, '≠');
      }
    }
    parts.els[e.e] = {g: g, t: g.querySelector('.bg text')};
  });
  n.dots.forEach(function (d) { add(svg, 'circle', {'class': d[2] ? 'ring' : 'joint', cx: X(d[1]) + (d[2] ? CW / 2 : 0), cy: Y(d[0]), r: d[2] ? 4.5 : 3}); });
  n.texts.forEach(function (t) { add(svg, 'text', {x: (X(t[1]) + X(t[1] + Math.max(1, t[3]) - 1)) / 2, y: Y(t[0]) + 4 + (t[4] || 0)}, t[2]); });
  return parts;
}
var pics = [];
nets.forEach(function (n, ni) {
  var box = add($('nets'), 'section', {'class': 'net', id: 'net' + ni, 'aria-label': 'Network ' + n.n});
  add(box, 'h3', {}, networkName(n) + (n.label ? ', label ' + n.label : ''));
  if (n.note) { add(box, 'p', {'class': 'note'}, n.note); }
  var pair = add(box, 'div', {'class': 'pair'});
  var f1 = add(pair, 'figure'), c1 = add(f1, 'figcaption', {}, 'Executed');
  var p1 = picture(f1, n, 'x' + ni);
  var f2 = add(pair, 'figure'), c2 = add(f2, 'figcaption', {}, 'Painted');
  var p2 = picture(f2, n, 'y' + ni);
  pics.push({box: box, ex: p1, pa: p2, cap: c2, fig: f2});
});
$('nets').classList.toggle('long', nets.length > 5);
if (!nets.length) {
  $('p-ladder').hidden = true; $('p-els').hidden = true;
  $('p-ladder').parentNode.appendChild($('steps').parentNode);
}

function linkState(from, st) {
  var r = 0;
  for (var i = 0; i < from.length; i++) {
    if (from[i] === -1) { return 1; }
    var e = from[i] < 0 ? -2 - from[i] : from[i];
    // the output of a box is known by what it feeds: a coil's left link, or power behind a contact that conducts
    var v = from[i] >= 0 ? st.pow[e] : els[e].k === 'coil' ? st.exec[e] : st.exec[e] === 1 ? st.pow[e] : -1;
    if (v === 1) { return 1; }
    if (v < 0) { r = -1; }
  }
  return r;
}
function paintNet(st, ni, here) {
  var n = nets[ni], p = pics[ni], d = run.show, desc = [], desc2 = [];
  p.box.classList.toggle('here', here >= 0 && els[here] && els[here].net === ni);
  p.ex.links.forEach(function (l) { l.n.setAttribute('class', 'lk' + (linkState(l.from, st) === 1 ? ' on' : '')); });
  n.els.forEach(function (e) {
    var x = st.exec[e.e], y = run.displays.length ? st.paint[d][e.e] : -1;
    var a = p.ex.els[e.e], b = p.pa.els[e.e];
    var cls = function (v) { return v < 0 ? 'unk' : v ? 'on' : 'off'; };
    a.g.setAttribute('class', cls(x) + (here === e.e ? ' now' : ''));
    b.g.setAttribute('class', cls(y) + (x >= 0 && y >= 0 && x !== y ? ' bad' : ''));
    if (a.t) { a.t.textContent = x < 0 ? '–' : x; }
    if (b.t) { b.t.textContent = y < 0 ? '–' : y; }
    desc.push(kindWord(e) + ' ' + e.t + (x < 0 ? ' not evaluated' : x ? ' 1' : ' 0'));
    desc2.push(kindWord(e) + ' ' + e.t + (y < 0 ? ' not painted' : y ? ' 1' : ' 0') + (x >= 0 && y >= 0 && x !== y ? ' (executed ' + x + ')' : ''));
  });
  p.ex.svg.setAttribute('aria-label', 'Network ' + n.n + ' executed: ' + desc.join(', '));
  p.pa.svg.setAttribute('aria-label', 'Network ' + n.n + ' painted: ' + desc2.join(', '));
  p.fig.hidden = !run.displays.length;
  if (run.displays.length) { p.cap.textContent = 'Painted by “' + run.displays[d].n + '”'; }
}

// ---- tables ------------------------------------------------------------------------------------------------------------
var rowsV = [], rowsE = [];
function buildHeads() {
  var th = $('vals').tHead, tr;
  clear(th); tr = add(th, 'tr');
  ['Variable', 'Field', 'Memory'].forEach(function (t) { add(tr, 'th', {scope: 'col'}, t); });
  run.displays.forEach(function (d) { add(tr, 'th', {scope: 'col'}, d.n); });
  add(tr, 'th', {scope: 'col'}, 'Agree?');
  var tb = $('vals').tBodies[0]; clear(tb); rowsV = [];
  items.forEach(function (it) {
    var r = add(tb, 'tr'), h = add(r, 'th', {scope: 'row', 'class': 'mono'}, it.n);
    if (it.a && it.a !== it.n) { add(h, 'small', {}, ' ' + it.a); }
    var c = [];
    for (var i = 0; i < 2 + run.displays.length; i++) { c.push(add(r, 'td')); }
    rowsV.push({r: r, c: c, w: add(r, 'td', {'class': 'why'}), last: null});
  });
  th = $('els').tHead; clear(th); tr = add(th, 'tr');
  add(tr, 'th', {scope: 'col'}, 'Element'); add(tr, 'th', {scope: 'col'}, 'Executed');
  run.displays.forEach(function (d) { add(tr, 'th', {scope: 'col'}, d.n); });
  add(tr, 'th', {scope: 'col'}, 'Agree?');
  tb = $('els').tBodies[0]; clear(tb); rowsE = [];
  els.forEach(function (e) {
    if (e.k !== 'contact' && e.k !== 'compare' && e.k !== 'coil') { rowsE.push(null); return; }
    var r = add(tb, 'tr'), c = [];
    add(r, 'th', {scope: 'row', 'class': 'mono'}, 'net ' + nets[e.net].n + ' ' + kindWord(e) + ' ' + e.t);
    for (var i = 0; i < 1 + run.displays.length; i++) { c.push(add(r, 'td')); }
    rowsE.push({r: r, c: c, w: add(r, 'td', {'class': 'why'}), last: null});
  });
}
function put(cell, node, changed) { clear(cell); cell.appendChild(node); cell.className = changed ? 'changed' : ''; }
// A display that takes some items at a time can show values of several scans at once.
function torn(st) {
  var say = [];
  st.from.forEach(function (a, d) {
    var by = {}, order = [];
    a.forEach(function (s, i) { if (s >= -1 && st.disp[d][i] >= 0) { if (!by[s]) { by[s] = []; order.push(s); } by[s].push(items[i].n + ' = ' + value(st.disp[d][i])); } });
    if (order.length < 2 || !run.displays[d].c) { return; }
    order.sort(function (x, y) { return x - y; });
    say.push('“' + run.displays[d].n + '” shows values of ' + order.length + ' scans together: ' + order.slice(-4).map(function (s) {
      return by[s].slice(0, 4).join(', ') + (by[s].length > 4 ? ' and others' : '') + (s < 0 ? ' from before the first scan' : ' from scan ' + (s + 1));
    }).join('; ') + '. The program may never have held these together.');
  });
  $('torn').hidden = !say.length;
  $('torn').textContent = say.join(' ');
}
function paintTables(st, m) {
  var touched = {};
  m.ev.forEach(function (e) {
    if (e.was === e.v && e.k !== ELEMENT) { return; }
    if (e.k === WRITE && e.a1 >= 0) { touched[e.a1 + ':1'] = 1; }
    if (e.k === FIELD) { touched[e.a0 + ':0'] = 1; }
    if (e.k === SAMPLE && e.a1 >= 0) { touched[e.a1 + ':' + (2 + e.a0)] = 1; }
  });
  items.forEach(function (it, i) {
    var w = [], row = rowsV[i], bool = it.t === 'BOOL', sig = [it.d ? st.fld[i] : -2, st.mem[i]], c;
    if (it.d && st.fld[i] >= 0 && st.fld[i] !== st.mem[i]) { w.push('field ≠ memory'); }
    var behind = [];
    st.disp.forEach(function (a, d) { sig.push(a[i]); if (a[i] >= 0 && a[i] !== st.mem[i]) { behind.push(run.displays[d].n); } });
    if (behind.length) { w.push(behind.join(', ') + ' ≠ memory'); }
    for (c = 0; c < sig.length; c++) { if (touched[i + ':' + c]) { sig.push('t' + c); } }
    sig = sig.join(',');
    if (sig === row.last) { return; }
    row.last = sig;
    if (it.d) { put(row.c[0], badge(st.fld[i], bool), touched[i + ':0']); } else { row.c[0].textContent = ''; row.c[0].className = ''; }
    put(row.c[1], badge(st.mem[i], bool), touched[i + ':1']);
    st.disp.forEach(function (a, d) { put(row.c[2 + d], badge(a[i], bool), touched[i + ':' + (2 + d)]); });
    row.w.textContent = w.join('; ');
    row.r.className = w.length ? 'differs' : '';
  });
  torn(st);
  for (var key in touched) { reveal($('vals').parentNode, rowsV[parseInt(key, 10)].r); break; }
  els.forEach(function (e, i) {
    var row = rowsE[i], w = [], sig;
    if (!row) { return; }
    sig = [st.exec[i]];
    st.paint.forEach(function (a, d) { sig.push(a[i]); if (a[i] >= 0 && st.exec[i] >= 0 && a[i] !== st.exec[i]) { w.push(run.displays[d].n + ' paints ' + a[i]); } });
    sig = sig.join(',');
    if (sig === row.last) { return; }
    row.last = sig;
    put(row.c[0], truth(st.exec[i], 'conducts', 'does not conduct'));
    st.paint.forEach(function (a, d) { put(row.c[1 + d], truth(a[i], 'painted as conducting', 'painted as not conducting')); });
    row.w.textContent = w.join('; ');
    row.r.className = w.length ? 'differs' : '';
  });
}
var WIN = 300, listed = null;
function paintSteps(v) {
  var ol = $('steps'), from = Math.max(0, Math.min(K - WIN / 2, v.moments.length - WIN)), key = R + '/' + S + '/' + Math.floor(from / 100);
  if (v.moments.length > WIN) { from = Math.floor(from / 100) * 100; }
  if (listed !== key) {
    listed = key; clear(ol);
    for (var i = from; i < Math.min(v.moments.length, from + WIN + 100); i++) {
      var m = v.moments[i];
      var li = add(ol, 'li', {role: 'option', id: 's' + i, 'data-k': i, 'class': (m.ev.length && m.ev[0].k === PHASE ? 'ph' : '') + (m.gap ? m.fresh.every(function (f) { return f[3] === 1; }) ? ' gapped behind' : ' gapped' : '')});
      add(li, 'span', {'class': 'n mono'}, i + 1);
      if (m.task) { add(li, 'span', {'class': 'task'}, m.task); }
      add(li, 'span', {'class': 'm'}, m.words);
    }
  }
  var old = ol.querySelector('[aria-selected=true]');
  if (old) { old.setAttribute('aria-selected', 'false'); }
  var cur = $('s' + K);
  if (cur) {
    cur.setAttribute('aria-selected', 'true'); ol.setAttribute('aria-activedescendant', 's' + K);
    ol.scrollTop = cur.offsetTop - ol.offsetTop - ol.clientHeight / 2;
  }
}
function paintPhases(v) {
  var box = $('phases'), groups = [], MOST = 60;
  v.moments.forEach(function (m, i) {
    var f = m.ev[0], g = groups[groups.length - 1], special = f && (f.k === SAMPLE || f.k === FIELD && m.ph !== 2 || f.k === WRITE && f.a2 > 0);
    if (special) {
      groups.push({k: i, n: 1, t: f.k === SAMPLE ? 'sample' : f.k === FIELD ? 'field' : SOURCES[f.a2], mark: true, full: m.words});
    } else if (g && !g.mark && g.ph === m.ph && (g.task === m.task || !g.task && m.ph === 1 && f && f.k === PHASE)) { g.n++; } else {
      groups.push({k: i, n: 1, ph: m.ph, task: m.task, t: m.task ? 'task ' + m.task + (f && f.k === TASK && taskWords(f)[1] === 'resume' ? ' goes on' : '') : m.ph < 0 ? 'before the scan' : PHASES[m.ph], full: ''});
    }
  });
  clear(box);
  // a scan in which tasks or clocks alternate all the time: those around the current step
  var near = groups.findIndex(function (g, gi) { return gi + 1 === groups.length || groups[gi + 1].k > K; });
  var low = Math.max(0, Math.min(near - MOST / 2, groups.length - MOST));
  groups.forEach(function (g, gi) {
    if (gi < low || gi >= low + MOST) { return; }
    var next = gi + 1 < groups.length ? groups[gi + 1].k : v.moments.length;
    var b = add(box, 'button', {type: 'button', 'data-k': g.k, 'class': g.mark ? 'mark' : '', style: g.mark ? '' : 'flex-grow:' + Math.min(12, g.n), title: g.full || g.t}, g.t);
    b.setAttribute('aria-current', K >= g.k && K < next ? 'true' : 'false');
  });
}
function marks() {
  // Which scans end with a disagreement: computed once per run, in slices, so that the page is usable at once.
  if (run.ends) { return; }
  run.ends = [];
  var r = run, st = blank(r), s = 0;
  (function slice() {
    var stop = Math.min(r.scans.length, s + 25);
    for (; s < stop; s++) {
      decode(r, s).forEach(function (e) { apply(st, e); });
      r.ends[s] = Object.keys(gapsOf(r, st)).length;
    }
    if (r === run) { paintStrip(); }
    if (s < r.scans.length) { setTimeout(slice, 0); }
  })();
}
function paintStrip() {
  var svg = $('strip'), W = Math.max(300, svg.clientWidth || 900), n = run.scans.length, per = Math.max(1, Math.floor(W / 30)), from = 0;
  if (n > per) { from = Math.max(0, Math.min(n - per, S - Math.floor(per / 2))); }
  clear(svg);
  svg.setAttribute('viewBox', '0 0 ' + W + ' 46');
  var show = Math.min(n, per), w = Math.min(90, W / show), gaps = 0;
  for (var i = from; i < from + show; i++) {
    var g = add(svg, 'g', {'data-s': i}), x = (i - from) * w, bad = run.ends && run.ends[i] > 0;
    add(g, 'rect', {x: x + 3, y: 4, width: w - 6, height: 36, rx: 4, 'class': (bad ? 'gapped' : '') + (i === S ? ' here' : '')});
    add(g, 'text', {x: x + w / 2, y: 19}, i + 1);
    if (bad) { add(g, 'text', {x: x + w / 2, y: 34}, '≠ ' + run.ends[i]); gaps++; }
    add(g, 'title', {}, 'Scan ' + (i + 1) + (bad ? ': ' + run.ends[i] + ' disagreements at its end' : ''));
  }
  svg.setAttribute('aria-label', 'Scans ' + (from + 1) + ' to ' + (from + show) + ' of ' + n + '; current ' + (S + 1) + '; with disagreements at their end: ' + gaps);
}
var lines = [], curFile = -1;
function showFile(f) {
  if (curFile === f) { return; }
  curFile = f; lines = []; clear($('src')); $('file').value = String(f);
  D.sources[f].text.split(/\r\n|\r|\n/).forEach(function (t, i) {
    var d = add($('src'), 'div');
    add(d, 'span', {'class': 'n'}, i + 1);
    add(d, 'span', {'class': 't'}, t);
    lines.push({d: d, t: t});
  });
}
var hot = [];
function paintSource(m) {
  hot.forEach(function (l) { if (l.d.parentNode) { l.d.className = ''; l.d.lastChild.textContent = l.t; } });
  hot = [];
  if (m.step < 0) { return; }
  var st = steps[m.step], f = st[0], l1 = st[1], c1 = st[2], l2 = st[3], c2 = st[4], x = st[8] >= 0 ? els[st[8]] : null;
  if (f < 0) { return; }
  showFile(f);
  for (var l = l1; l <= l2 && l - l1 < 40 && l <= lines.length; l++) {
    var line = lines[l - 1], cp = Array.from(line.t), a = l === l1 ? c1 - 1 : 0, b = l === l2 ? c2 - 1 : cp.length, t = line.d.lastChild;
    line.d.className = 'here'; hot.push(line);
    clear(t);
    t.appendChild(document.createTextNode(cp.slice(0, a).join('')));
    add(t, 'mark', {}, cp.slice(a, Math.max(b, a + 1)).join(''));
    t.appendChild(document.createTextNode(cp.slice(Math.max(b, a + 1)).join('')));
  }
  if (hot.length) {
    var box = $('src'), top = hot[0].d.offsetTop - box.offsetTop;
    if (top < box.scrollTop + 20 || top > box.scrollTop + box.clientHeight - 50) { box.scrollTop = top - box.clientHeight / 2; }
  }
}
// Scrolls within a pane, never the page: the person's place on the page stays.
function reveal(pane, child) {
  var p = pane.getBoundingClientRect(), c = child.getBoundingClientRect();
  if (c.top < p.top + 30 || c.bottom > p.bottom) { pane.scrollTop += c.top - p.top - Math.max(30, (p.height - c.height) / 2); }
}
function paintAll() {
  var v = view(run, S), m = v.moments[K], st = at(run, S, K), here = m.step >= 0 ? steps[m.step][8] : -1;
  clear($('now'));
  $('now').textContent = m.words + '.';
  add($('now'), 'small', {}, where() + (m.gap ? '. A disagreement begins here. ' + gapWords(m) + '.' : ''));
  for (var i = 0; i < nets.length; i++) { paintNet(st, i, here); }
  paintTables(st, m);
  paintSteps(v);
  paintPhases(v);
  paintStrip();
  paintSource(m);
  $('scanrange').value = String(S + 1);
  $('scanrange').setAttribute('aria-valuetext', 'Scan ' + (S + 1) + ' of ' + run.scans.length);
  if (here >= 0 && shown !== els[here].net) {
    shown = els[here].net;
    reveal($('nets'), pics[shown].box);
  }
  var hash = '#' + (S + 1) + '/' + (K + 1) + (R ? '/' + (R + 1) : '');
  if (location.hash !== hash) { try { history.replaceState(null, '', hash); } catch (e) { location.hash = hash; } }
}

// ---- comparison table and trees ------------------------------------------------------------------------------------------
if (D.table) {
  $('p-table').hidden = false;
  var t = add($('table'), 'table', {id: 'matrix'});
  add(t, 'caption', {}, D.table.caption);
  var tr = add(add(t, 'thead'), 'tr');
  D.table.head.forEach(function (h) { add(tr, 'th', {scope: 'col'}, h); });
  var tb = add(t, 'tbody');
  D.table.rows.forEach(function (r) {
    var x = add(tb, 'tr');
    r.forEach(function (c, i) { add(x, i ? 'td' : 'th', i ? {} : {scope: 'row'}, c); });
  });
}
function tree(parent, node, depth) {
  var li = add(parent, 'li');
  add(li, 'span', {}, node.t);
  if (node.s > 0) { li.appendChild(document.createTextNode(' ')); add(li, 'a', {href: '#' + node.s + '/' + node.k + (node.r > 1 ? '/' + node.r : '')}, 'scan ' + node.s + ', step ' + node.k); }
  if (node.c && node.c.length && depth < 200) {
    var ul = add(li, 'ul');
    node.c.forEach(function (c) { tree(ul, c, depth + 1); });
  }
}
if (D.why && D.why.length) {
  $('p-why').hidden = false;
  D.why.forEach(function (w, i) {
    var d = add($('why'), 'details', i === 0 ? {open: ''} : {});
    add(d, 'summary', {}, w.title);
    w.trees.forEach(function (x) { tree(add(d, 'ul', {'class': 'tree'}), x, 0); });
  });
}

// ---- events --------------------------------------------------------------------------------------------------------------
D.runs.forEach(function (r, i) { add($('run'), 'option', {value: i}, r.name); });
add($('watch'), 'option', {value: ''}, 'choose a variable');
items.forEach(function (it, i) { add($('watch'), 'option', {value: i}, it.n); });
D.sources.forEach(function (s, i) { add($('file'), 'option', {value: i}, s.name); });
$('srclabel').hidden = D.sources.length < 2;
if (D.sources.length) { showFile(0); }
var acts = {
  first: function () { go(0, 0); }, last: function () { go(run.scans.length - 1, -1); },
  back: function () { step(-1); }, next: function () { step(1); },
  scanback: function () { if (S > 0) { go(S - 1, K); } else { say('This is the first scan.'); } },
  scannext: function () { if (S + 1 < run.scans.length) { go(S + 1, K); } else { say('This is the last scan.'); } },
  gapnext: function () { gap(1); }, gapback: function () { gap(-1); }, 'break': function () { brk(1); }, find: find
};
Object.keys(acts).forEach(function (id) { $(id).addEventListener('click', acts[id]); });
$('run').addEventListener('change', function () { setRun(parseInt(this.value, 10)); });
$('disp').addEventListener('change', function () { run.show = parseInt(this.value, 10); paintAll(); });
$('file').addEventListener('change', function () { showFile(parseInt(this.value, 10)); });
$('scanrange').addEventListener('input', function () { go(parseInt(this.value, 10) - 1, K); });
$('steps').addEventListener('click', function (e) { var li = e.target.closest('li'); if (li) { go(S, parseInt(li.dataset.k, 10)); } });
$('phases').addEventListener('click', function (e) { var b = e.target.closest('button'); if (b) { go(S, parseInt(b.dataset.k, 10)); } });
$('strip').addEventListener('click', function (e) { var g = e.target.closest('g'); if (g) { go(parseInt(g.dataset.s, 10), K); } });
$('search').addEventListener('keydown', function (e) {
  if (e.key === 'Enter') { e.preventDefault(); find(); }
  if (e.key === 'Escape') { this.blur(); }
});
function help() { $('keys-help').scrollIntoView({block: 'start'}); $('keys-help').focus({preventScroll: true}); }
$('helplink').addEventListener('click', function (e) { e.preventDefault(); help(); });
document.addEventListener('keydown', function (e) {
  var tag = e.target.tagName;
  if (e.ctrlKey || e.metaKey || e.altKey || tag === 'INPUT' || tag === 'SELECT' || tag === 'TEXTAREA') { return; }
  var k = e.key, f = null;
  if (k === 'ArrowRight') { f = acts.next; } else if (k === 'ArrowLeft') { f = acts.back; }
  else if (k === 'PageDown' || k === 'n' || k === 'N') { f = acts.scannext; } else if (k === 'PageUp' || k === 'p' || k === 'P') { f = acts.scanback; }
  else if (k === 'Home') { f = acts.first; } else if (k === 'End') { f = acts.last; }
  else if (k === 'd') { f = acts.gapnext; } else if (k === 'D') { f = acts.gapback; }
  else if (k === 'b') { f = acts['break']; } else if (k === 'B') { f = function () { brk(-1); }; }
  else if (k === 'r' || k === 'R') { f = function () { setRun((R + 1) % D.runs.length); }; }
  else if (k === 'v' || k === 'V') { f = function () { if (run.displays.length) { run.show = (run.show + 1) % run.displays.length; $('disp').value = String(run.show); paintAll(); } }; }
  else if (k === '/') { f = function () { $('search').focus(); }; }
  else if (k === '?') { f = help; }
  if (f) { e.preventDefault(); f(); }
});
function fromHash() {
  var m = /^#(\d+)\/(\d+)(?:\/(\d+))?$/.exec(location.hash);
  if (!m) { return false; }
  var r = m[3] ? parseInt(m[3], 10) - 1 : 0;
  S = parseInt(m[1], 10) - 1; K = parseInt(m[2], 10) - 1;
  if (r < 0 || r >= D.runs.length) { r = 0; }
  if (S < 0) { S = 0; }
  if (K < 0) { K = 0; }
  if (r !== R || !run.ends) { R = r; run = D.runs[r]; setRun(r); } else { clampTo(S, K); paintAll(); }
  return true;
}
window.addEventListener('hashchange', fromHash);
window.addEventListener('resize', paintStrip);
if (!fromHash()) { setRun(0); }
document.documentElement.dataset.ready = '1';
}
// A large page carries its data deflated; unpacking takes a moment, in which the page is there already.
(function () {
'use strict';
var raw = document.getElementById('data').textContent, now = document.getElementById('now');
if (raw.charAt(0) === '{') { show(JSON.parse(raw)); return; }
if (typeof DecompressionStream === 'undefined') { now.textContent = 'This browser cannot unpack the page: it needs DecompressionStream, which browsers have since 2023.'; return; }
now.textContent = 'Unpacking the recorded runs';
setTimeout(function () {
  var bin = atob(raw), bytes = new Uint8Array(bin.length);
  for (var i = 0; i < bin.length; i++) { bytes[i] = bin.charCodeAt(i); }
  new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream('deflate'))).text().then(function (text) { show(JSON.parse(text)); })
    .catch(function (e) { now.textContent = 'The data of this page is damaged: ' + e.message; });
}, 0);
})();

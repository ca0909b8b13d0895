var delay = [], count = [], edge = [];
for (var i = 0; i < 200; i++) {
  delay.push({ q: false, et: 0, timing: false, start: 0 });
  count.push({ q: false, cv: 0, before: false });
  edge.push({ q: false, m: false });
}
function ton(t, i, pt, now) {
  if (!i) { t.timing = false; t.q = false; t.et = 0; return; }
  var limit = pt < 0 ? 0 : pt;
  if (!t.timing) { t.timing = true; t.start = now; }
  var elapsed = now - t.start;
  if (!t.q) t.q = elapsed >= limit;
  t.et = t.q ? limit : elapsed;
}
function ctu(c, cu, r, pv) {
  var e = cu && !c.before;
  c.before = cu;
  if (r) c.cv = 0; else if (e && c.cv < 32767) c.cv = c.cv + 1;
  c.q = c.cv >= pv;
}
function rtrig(e, clk) { e.q = clk && !e.m; e.m = clk; }
function run(x, now, delay, count, edge) {
  for (var i = 0; i < 200; i++) {
    ton(delay[i], x[i] != 0, 50000000, now);
    rtrig(edge[i], delay[i].q);
    ctu(count[i], edge[i].q, count[i].q, 7);
  }
}
function scan(n) { run(rows[n & 255], n * 10000000, delay, count, edge); }
function output(i) { return i < 200 ? delay[i].et : count[i - 200].cv; }

function Pid() { this.kp = 2.0; this.ki = 0.05; this.kd = 0.5; this.integral = 0.0; this.last = 0.0; this.y = 0.0; }
function step(p, sp, pv) {
  var e = sp - pv;
  var total = p.integral + e * p.ki;
  if (total > 100.0) total = 100.0; else if (total < 0.0) total = 0.0;
  p.integral = total;
  var out = p.kp * e + total + p.kd * (e - p.last);
  p.last = e;
  if (out > 100.0) out = 100.0; else if (out < 0.0) out = 0.0;
  p.y = out;
}
var loops = [], pv = [];
for (var i = 0; i < 64; i++) { loops.push(new Pid()); pv.push(0.0); }
function run(base, loops, pv) {
  for (var i = 0; i < 64; i++) {
    var p = loops[i];
    step(p, base + i * 0.5, pv[i]);
    pv[i] = pv[i] + (p.y * 0.9 - pv[i]) * 0.02;
  }
}
function scan(n) { run(words[n & 255] % 64, loops, pv); }
function output(i) { return i < 64 ? loops[i].y : pv[i - 64]; }

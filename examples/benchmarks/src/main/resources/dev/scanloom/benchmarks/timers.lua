local delay, count, edge = {}, {}, {}
for i = 0, 199 do
  delay[i] = {q = false, et = 0, timing = false, start = 0}
  count[i] = {q = false, cv = 0, before = false}
  edge[i] = {q = false, m = false}
end
local function ton(t, i, pt, now)
  if not i then t.timing = false t.q = false t.et = 0 return end
  local limit = pt
  if pt < 0 then limit = 0 end
  if not t.timing then t.timing = true t.start = now end
  local elapsed = now - t.start
  if not t.q then t.q = elapsed >= limit end
  if t.q then t.et = limit else t.et = elapsed end
end
local function ctu(c, cu, r, pv)
  local e = cu and not c.before
  c.before = cu
  if r then c.cv = 0 elseif e and c.cv < 32767 then c.cv = c.cv + 1 end
  c.q = c.cv >= pv
end
local function rtrig(e, clk) e.q = clk and not e.m e.m = clk end
function scan(n)
  local x, now = bits[n % 256], n * 10000000
  for i = 0, 199 do
    ton(delay[i], x[i], 50000000, now)
    rtrig(edge[i], delay[i].q)
    ctu(count[i], edge[i].q, count[i].q, 7)
  end
end
function output(i) if i < 200 then return delay[i].et else return count[i - 200].cv end end

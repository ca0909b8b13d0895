local loops, pv = {}, {}
for i = 0, 63 do loops[i] = {kp = 2.0, ki = 0.05, kd = 0.5, integral = 0.0, last = 0.0, y = 0.0} pv[i] = 0.0 end
local function step(p, sp, pv)
  local e = sp - pv
  local total = p.integral + e * p.ki
  if total > 100.0 then total = 100.0 elseif total < 0.0 then total = 0.0 end
  p.integral = total
  local out = p.kp * e + total + p.kd * (e - p.last)
  p.last = e
  if out > 100.0 then out = 100.0 elseif out < 0.0 then out = 0.0 end
  p.y = out
end
function scan(n)
  local base = words[n % 256] % 64
  for i = 0, 63 do
    local p = loops[i]
    step(p, base + i * 0.5, pv[i])
    pv[i] = pv[i] + (p.y * 0.9 - pv[i]) * 0.02
  end
end
function output(i) if i < 64 then return loops[i].y else return pv[i - 64] end end

-- Lua 5.2 has no bit operators: exclusive or of bytes comes from the engine's own library.
local xor, band, rsh = bit32.bxor, bit32.band, bit32.rshift
local table, buffer, sample, mean, sorted, at, crc, median = {}, {}, {}, {}, {}, 0, 0, 0
for i = 0, 255 do
  local t = i
  for k = 0, 7 do if band(t, 1) ~= 0 then t = xor(rsh(t, 1), 0xA001) else t = rsh(t, 1) end end
  table[i] = t buffer[i] = 0
end
for i = 0, 63 do sample[i] = 0 mean[i] = 0 end
for i = 0, 15 do sorted[i] = 0 end
local function quarter(d) if d < 0 then return -((-d - -d % 4) / 4) else return (d - d % 4) / 4 end end
function scan(n)
  local w = words[n % 256]
  buffer[at] = band(w, 255)
  buffer[at + 1] = rsh(w, 8)
  at = (at + 2) % 256
  local c = 0xFFFF
  for i = 0, 255 do c = xor(rsh(c, 8), table[band(xor(c, buffer[i]), 0xFF)]) end
  crc = c
  for i = 0, 63 do
    sample[i] = (sample[i] * 5 + w + i * 37) % 1000
    mean[i] = mean[i] + quarter(sample[i] - mean[i])
  end
  for i = 0, 15 do
    local v, j = mean[i * 4], i
    while j > 0 and sorted[j - 1] > v do sorted[j] = sorted[j - 1] j = j - 1 end
    sorted[j] = v
  end
  median = sorted[8]
end
function output(i) if i == 0 then return crc elseif i == 1 then return median else return mean[i - 2] end end

-- Take callbacks that are due, and keep them from others for a while. Returns {id, tries, id, tries, ...}.
local taken = {}
for _, id in ipairs(redis.call('ZRANGEBYSCORE', key('callbacks'), '-inf', text(now), 'LIMIT', 0, a.limit)) do
  redis.call('ZADD', key('callbacks'), text(now + a.hold_ms), id)
  table.insert(taken, id)
  table.insert(taken, text(redis.call('HINCRBY', key('tries'), id, 1) - 1))
end
return taken

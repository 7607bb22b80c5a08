-- The holder of a step lives: a longer lease, and what it says. Returns 0 when the step is no longer its own.

local job = key('job', a.id)
local state = redis.call('HMGET', job, 'phase', 'fence', 'progress', 'message')
if state[1] ~= 'leased' or tonumber(state[2]) ~= a.fence then return 0 end

redis.call('ZADD', key('leases'), 'XX', text(now + a.lease_ms), a.id)
local progress = math.max(a.progress, tonumber(state[3]))
if progress ~= tonumber(state[3]) or a.message ~= state[4] then
  change(a.id, 'progress', a.step, 'progress', text(progress), 'message', a.message)
end
return 1

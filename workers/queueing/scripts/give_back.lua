-- A worker that must stop gives its step back: in line again, at once, and it does not count as an attempt.
-- Returns messages; none if the step is no longer its own.

local job = key('job', a.id)
local state = redis.call('HMGET', job, 'phase', 'fence', 'queue', 'owner')
if state[1] ~= 'leased' or tonumber(state[2]) ~= a.fence then return {} end

redis.call('ZREM', key('leases'), a.id)
redis.call('HINCRBY', job, 'attempts', -1)
redis.call('HINCRBY', job, 'attempts_in_all', -1)
line_up(a.id, state[3], state[4], true)
change(a.id, 'progress', a.step, 'phase', 'queued', 'token', '', 'sends', 0,
  'message', 'its worker stops; another goes on')
return hand_out({state[3]})

-- A step is done and another follows: keep what it made, get in line for the next. Nobody sees it yet.
-- Returns {"ok", messages...} or {"lost"}; the same fence again is ok and changes nothing.

local job = key('job', a.id)
local state = redis.call('HMGET', job, 'phase', 'fence', 'done_fence', 'owner', 'queue')
if tonumber(state[3]) == a.fence then return {'ok'} end
if state[1] ~= 'leased' or tonumber(state[2]) ~= a.fence then return {'lost'} end

remember()
redis.call('ZREM', key('leases'), a.id)
redis.call('HINCRBY', job, 'step', 1)
line_up(a.id, a.next_queue, state[4], true)
change(a.id, 'step', a.step, 'out:' .. a.step, cjson.encode(a.made), 'state:' .. a.step, a.state, 'done_fence', text(a.fence),
  'progress', text(a.progress), 'phase', 'queued', 'queue', a.next_queue, 'token', '', 'attempts', 0, 'sends', 0)
if a.next_queue == state[5] then return {'ok', unpack(hand_out({a.next_queue}))} end
return {'ok', unpack(hand_out({a.next_queue, state[5]}))}

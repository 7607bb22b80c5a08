-- A step is done and another follows: keep its outputs, let the owner see them, get in line for the next.
-- Returns {"ok", messages...} or {"lost"}; the same fence again is ok and changes nothing.

local job = key('job', a.id)
local state = redis.call('HMGET', job, 'phase', 'fence', 'done_fence', 'owner', 'queue')
if tonumber(state[3]) == a.fence then return {'ok'} end
if state[1] ~= 'leased' or tonumber(state[2]) ~= a.fence then return {'lost'} end

local keep = a.class == 'bulk' and a.keep_bulk_ms or a.keep_interactive_ms
for _, file in ipairs(a.files) do grant(state[4], now + keep, file) end
remember()
redis.call('ZREM', key('leases'), a.id)
redis.call('HINCRBY', job, 'step', 1)
line_up(a.id, a.next_queue, state[4], true)
change(a.id, 'step', a.step, 'out:' .. a.step, a.outputs, 'state:' .. a.step, a.state, 'done_fence', text(a.fence),
  'progress', text(a.progress), 'phase', 'queued', 'queue', a.next_queue, 'token', '', 'attempts', 0, 'sends', 0)
if a.next_queue == state[5] then return {'ok', unpack(hand_out({a.next_queue}))} end
return {'ok', unpack(hand_out({a.next_queue, state[5]}))}

-- The last step is done, or a step failed: the job ends, once, whatever is delivered twice. The files of its
-- results are the owner's from now on; what steps made besides, unproven programs above all, never is.
-- Returns {"ok", messages...} or {"lost"}; the same fence again is ok and changes nothing.

local job = key('job', a.id)
local state = redis.call('HMGET', job, 'phase', 'fence', 'done_fence', 'owner', 'queue')
if tonumber(state[3]) == a.fence then return {'ok'} end
if state[1] ~= 'leased' or tonumber(state[2]) ~= a.fence then return {'lost'} end

local keep = a.class == 'bulk' and a.keep_bulk_ms or a.keep_interactive_ms
for _, file in ipairs(a.published) do grant(state[4], now + keep, file) end
remember()
redis.call('HSET', job, 'results', a.results, 'problem', a.problem,
  'done_fence', text(a.fence))
if a.status == 'successful' then
  redis.call('HSET', job, 'progress', 100, 'state:' .. a.step, a.state)
end
finish(a.id, a.status, a.message)
return {'ok', unpack(hand_out({state[5]}))}

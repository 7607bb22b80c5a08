-- One turn of the keeper, if it is ours: leases that are over, jobs and grants that are over, what is due.
-- Returns {"other"} or {"kept", how many requeued, erased, taken back, messages...}.

local holder = redis.call('GET', key('keeper'))
if holder and holder ~= a.token then return {'other'} end
if not holder or redis.call('PTTL', key('keeper')) < a.hold_ms / 2 then
  redis.call('SET', key('keeper'), a.token, 'PX', text(a.hold_ms))
end

local requeued = 0
for _, id in ipairs(redis.call('ZRANGEBYSCORE', key('leases'), '-inf', text(now), 'LIMIT', 0, 64)) do
  local state = redis.call('HMGET', key('job', id), 'phase', 'attempts', 'queue', 'owner', 'plan', 'step')
  redis.call('ZREM', key('leases'), id)
  if state[1] == 'leased' then
    local attempts = tonumber(state[2])
    redis.call('HINCRBY', key('job', id), 'fence', 1)
    if attempts >= a.max_attempts then
      fail_exhausted(id, attempts)
    else
      line_up(id, state[3], state[4], true)
      change(id, 'progress', cjson.decode(state[5])[tonumber(state[6]) + 1].id, 'phase', 'queued', 'token', '',
        'sends', 0, 'message', 'the worker was lost; trying again')
    end
    requeued = requeued + 1
  end
end

local ended = redis.call('ZRANGEBYSCORE', key('expire'), '-inf', text(now), 'LIMIT', 0, 64)
for _, id in ipairs(ended) do erase(id, 'age') end

local over = redis.call('ZRANGEBYSCORE', key('grants'), '-inf', text(now), 'LIMIT', 0, 256)
for _, member in ipairs(over) do take_back(string.sub(member, 73), string.sub(member, 1, 71)) end

return {'kept', text(requeued), text(#ended), text(#over), unpack(hand_out(a.queues))}

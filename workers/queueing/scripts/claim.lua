-- Take the current step of a job: from the line, or from a holder whose lease is over.
-- The same token gets the same claim again. Returns nil when there is nothing to do here.

local job = key('job', a.id)
local state = redis.call('HMGET', job, 'phase', 'token', 'queue', 'attempts', 'status', 'plan', 'step')
local phase, token, queue, attempts = state[1], state[2], state[3], tonumber(state[4])

local function claimed()
  local found = redis.call('HMGET', job, 'fence', 'step', 'attempts', 'owner', 'class', 'process')
  local outputs = {}
  local all = redis.call('HGETALL', job)
  for place = 1, #all, 2 do
    if string.sub(all[place], 1, 4) == 'out:' then
      table.insert(outputs, string.sub(all[place], 5))
      table.insert(outputs, all[place + 1])
    end
  end
  return {found[1], found[2], found[3], found[4], found[5], found[6], redis.call('GET', key('steps', a.id)), outputs}
end

if phase == 'leased' then
  if token == a.token then return claimed() end
  local over = redis.call('ZSCORE', key('leases'), a.id)
  if over and tonumber(over) > now then return false end
elseif phase ~= 'queued' then
  return false
end
if a.queue ~= queue then return false end
redis.call('ZREM', key('sent', queue), a.id)
if attempts >= a.max_attempts then
  fail_exhausted(a.id, attempts)
  return false
end

redis.call('HINCRBY', job, 'fence', 1)
redis.call('HINCRBY', job, 'attempts', 1)
redis.call('HINCRBY', job, 'attempts_in_all', 1)
redis.call('HSETNX', job, 'started', text(now))
redis.call('ZADD', key('leases'), text(now + a.lease_ms), a.id)
local step = cjson.decode(state[6])[tonumber(state[7]) + 1]
change(a.id, state[5] == 'accepted' and 'running' or 'step', step.id,
  'status', 'running', 'phase', 'leased', 'token', a.token, 'message', step.process)
return claimed()

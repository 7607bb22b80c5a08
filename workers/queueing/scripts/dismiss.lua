-- Stop a job that has not ended, erase one that has. The same call again (`by`) gets the same answer.
-- Returns "dismissed", "erased", "gone" or "none". Whoever runs the job's step sees its fence change.

local state = redis.call('HMGET', key('job', a.id), 'owner', 'status', 'dismissed_by')
if not state[1] then
  local gone = redis.call('GET', key('gone', a.id))
  if not gone then return 'none' end
  local line = string.find(gone, '\n', 1, true)
  if a.owner ~= '' and string.sub(gone, 1, line - 1) ~= a.owner then return 'none' end
  return string.sub(gone, line + 1) == a.by and 'erased' or 'gone'
end
if a.owner ~= '' and state[1] ~= a.owner then return 'none' end

if state[2] == 'dismissed' then
  return state[3] == a.by and 'dismissed' or 'gone'
end
if state[2] == 'successful' or state[2] == 'failed' then
  erase(a.id, a.by)
  return 'erased'
end
redis.call('HINCRBY', key('job', a.id), 'fence', 1)
finish(a.id, 'dismissed', 'dismissed', 'dismissed_by', a.by)
return 'dismissed'

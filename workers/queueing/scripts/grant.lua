-- Let an owner see files for so long. Returns 0 if the server is full.
if is_full() then return 0 end
for _, file in ipairs(a.files) do grant(a.owner, now + a.keep_ms, file) end
return 1

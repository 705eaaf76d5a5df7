# cmake -D NPM=npm -D INSTEAD=REMEDY -P npm_ci.cmake: fetches what package-lock.json names into the working folder, or says why not.
# npm's own patience is over a minute; here one more try after two seconds, and half a minute for an answer.
execute_process(COMMAND ${NPM} ci --prefer-offline --no-audit --no-fund --loglevel=error
    --fetch-retries=1 --fetch-retry-mintimeout=2000 --fetch-retry-maxtimeout=2000 --fetch-timeout=30000
  RESULT_VARIABLE failed OUTPUT_VARIABLE said ERROR_VARIABLE said)
if(failed)
  message(FATAL_ERROR "npm could not fetch what this build needs:\n${said}\nIs there a network? Without one ${INSTEAD}.")
endif()

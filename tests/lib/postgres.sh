# A private PostgreSQL for one run: a cluster in a temporary folder, on a free loopback port, stopped
# by its own process id. Sourced by run.sh after steps.sh and machine.sh.

# Runs a program as somebody who is not root, since PostgreSQL refuses root. `exec`ed, so that in the
# background its process id is the program's own.
exec_unprivileged() {
  if ((EUID != 0)); then exec "$@"; fi
  exec setpriv --reuid "$postgres_user" --regid "$(id -g "$postgres_user")" --clear-groups -- "$@"
}

free_port() {
  "$venv/bin/python" -c '
import socket
with socket.socket() as s:
    s.bind(("127.0.0.1", 0))
    print(s.getsockname()[1])'
}

# Makes the cluster and starts it; leaves the URL and the process id as files in $work, because a
# step runs in a subshell.
start_postgres() {
  local programs home=$work/postgres port pid attempt
  programs=$(postgres_programs)
  postgres_user=postgres
  if ((EUID == 0)); then
    id -u postgres >/dev/null 2>&1 || useradd --system --no-create-home postgres
    chmod 755 "$work"
  fi
  mkdir -p "$home"
  if ((EUID == 0)); then chown "$postgres_user" "$home"; fi
  (
    cd "$home"
    exec_unprivileged "$programs/initdb" --pgdata "$home/data" --username postgres --auth trust \
      --encoding UTF8 --locale C >"$home.initdb.log" 2>&1
  ) || { cat "$home.initdb.log"; return 1; }
  # A port that was free a moment ago may be taken by now: try another.
  for attempt in 1 2 3 4 5; do
    port=$(free_port)
    (
      cd "$home"
      exec_unprivileged "$programs/postgres" -D "$home/data" -h 127.0.0.1 -p "$port" -k "$home" \
        -c fsync=on -c max_connections=300 >"$home.log" 2>&1
    ) &
    pid=$!
    if wait_for_postgres "$programs" "$port" "$pid"; then
      echo "$pid" >"$work/postgres.pid"
      echo "postgres://postgres@127.0.0.1:$port/postgres" >"$work/postgres.url"
      echo "listening on 127.0.0.1:$port"
      return 0
    fi
    echo "attempt $attempt failed:"
    cat "$home.log"
  done
  return 1
}

wait_for_postgres() {
  local programs=$1 port=$2 pid=$3 tries
  for ((tries = 0; tries < 300; tries++)); do
    if ! kill -0 "$pid" 2>/dev/null; then return 1; fi
    if "$programs/pg_isready" -q -h 127.0.0.1 -p "$port"; then return 0; fi
    sleep 0.1
  done
  kill -QUIT "$pid"
  return 1
}

# Stops the server by its process id and waits until it has gone.
stop_postgres() {
  local pid tries
  if [[ ! -e $work/postgres.pid ]]; then return 0; fi
  pid=$(<"$work/postgres.pid")
  rm -f "$work/postgres.pid"
  # SIGINT is PostgreSQL's fast shutdown, SIGQUIT its immediate one.
  kill -INT "$pid" 2>/dev/null || return 0
  for ((tries = 0; tries < 200; tries++)); do
    if ! kill -0 "$pid" 2>/dev/null; then return 0; fi
    sleep 0.1
  done
  kill -QUIT "$pid" 2>/dev/null || true
}

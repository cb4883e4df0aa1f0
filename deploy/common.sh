# Read by backup.sh and restore.sh: where the database and the files are.
# shellcheck shell=bash

die() {
	echo "$*" >&2
	exit 1
}

# NAME=value lines as systemd reads them; what the environment has already wins.
load_env() {
	local name value
	while IFS='=' read -r name value; do
		[[ $name =~ ^[A-Z_]+$ && -n $value ]] || continue
		[[ -n ${!name:-} ]] || export "$name=$value"
	done <"$1"
}

percent_decoded() {
	local text=${1//\\/\\\\}
	printf '%b' "${text//%/\\x}"
}

# Hands DATABASE_URL to PostgreSQL's programs by environment: an argument would show the
# password to everybody who lists the machine's processes.
use_database() {
	local url=${DATABASE_URL:?DATABASE_URL is not set}
	local form='^postgres(ql)?://(([^:@/]*)(:([^@/]*))?@)?([^:/?]*)(:([0-9]+))?/([^?]+)(\?(.*))?$'
	[[ $url =~ $form ]] || die "DATABASE_URL does not name a PostgreSQL database."
	PGUSER=$(percent_decoded "${BASH_REMATCH[3]}")
	PGPASSWORD=$(percent_decoded "${BASH_REMATCH[5]}")
	PGHOST=$(percent_decoded "${BASH_REMATCH[6]}")
	PGPORT=${BASH_REMATCH[8]}
	PGDATABASE=$(percent_decoded "${BASH_REMATCH[9]}")
	local option options
	IFS='&' read -ra options <<<"${BASH_REMATCH[11]}"
	for option in "${options[@]}"; do
		case $option in
		sslmode=*) export PGSSLMODE=${option#*=} ;;
		sslrootcert=*) PGSSLROOTCERT=$(percent_decoded "${option#*=}") && export PGSSLROOTCERT ;;
		*) die "DATABASE_URL has an option these scripts do not know: ${option%%=*}" ;;
		esac
	done
	export PGDATABASE
	local name
	for name in PGUSER PGPASSWORD PGHOST PGPORT; do
		if [[ -n ${!name} ]]; then export "${name?}"; else unset "$name"; fi
	done
}

# Read by backup.sh and restore.sh: where the database and the files are.
# shellcheck shell=bash

die() {
	echo "$*" >&2
	exit 1
}

# NAME=value lines as systemd reads them; what the environment has already wins.
load_env() {
	local name value
	while IFS='=' read -r name value || [[ -n $name ]]; do # also without a newline at the end
		[[ $name =~ ^[A-Z_]+$ && -n $value ]] || continue
		[[ -n ${!name:-} ]] || export "$name=$value"
	done <"$1"
}

# Symmetric and authenticated; one passphrase opens all backups.
gpg_with_key() {
	local home
	home=$(mktemp -d)
	gpg --homedir "$home" --batch --quiet --yes --no-tty --pinentry-mode loopback \
		--passphrase-file "$BACKUP_KEY_FILE" "$@" || {
		rm -rf "$home"
		return 1
	}
	rm -rf "$home"
}

encrypt() {
	[[ -s $BACKUP_KEY_FILE ]] || die "BACKUP_KEY_FILE holds no passphrase: $BACKUP_KEY_FILE"
	command -v gpg >/dev/null || die "BACKUP_KEY_FILE is set, and gpg is not installed."
	local file
	for file in "$@"; do
		gpg_with_key --symmetric --cipher-algo AES256 --output "$file.gpg" "$file" ||
			die "$file could not be encrypted."
		rm "$file"
	done
}

# The file itself, or what is in its encrypted copy, which is written into a folder.
opened() {
	local file=$1 folder=$2
	if [[ -f $file ]]; then
		echo "$file"
		return
	fi
	[[ -n ${BACKUP_KEY_FILE:-} ]] || die "The backup is encrypted: set BACKUP_KEY_FILE."
	gpg_with_key --decrypt --output "$folder/${file##*/}" "$file.gpg" ||
		die "BACKUP_KEY_FILE does not open this backup."
	echo "$folder/${file##*/}"
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
	# shellcheck disable=SC2034 # exported by name below, where they are not empty
	PGUSER=$(percent_decoded "${BASH_REMATCH[3]}")
	# shellcheck disable=SC2034
	PGPASSWORD=$(percent_decoded "${BASH_REMATCH[5]}")
	# shellcheck disable=SC2034
	PGHOST=$(percent_decoded "${BASH_REMATCH[6]}")
	# shellcheck disable=SC2034
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

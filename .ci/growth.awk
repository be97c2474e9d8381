# Turns the output of go test -bench into a table: one row a benchmark that was run at
# several sizes, its processor time a facet at each, how the whole cost grows with
# facets between the least and the most (cost = facets ^ growth), what it allocated and
# the most memory the process held at the most. Of several runs the least counts.
BEGIN {
	sizes = split("20k 100k 1M 4M", name, " ")
	split("2e4 1e5 1e6 4e6", facets, " ")
}

/^Benchmark/ {
	label = $1
	sub(/^Benchmark/, "", label)
	sub(/-[0-9]+$/, "", label)
	at = 0
	parts = split(label, part, "/")
	label = ""
	for (i = 1; i <= parts; i++) {
		found = 0
		for (s = 1; s <= sizes; s++)
			if (part[i] == name[s]) found = s
		if (found) at = found
		else label = label (label == "" ? "" : "/") part[i]
	}
	if (!at) next
	for (f = 3; f < NF; f += 2) {
		key = label SUBSEP at SUBSEP $(f + 1)
		if (!(key in value) || $f + 0 < value[key]) value[key] = $f + 0
	}
	if (!(label in seen)) order[++rows] = label
	seen[label] = 1
}

function short(x) {
	return x >= 99.5 ? sprintf("%.0f", x) : sprintf("%.2g", x)
}

END {
	if (!rows) exit
	print ""
	print "| kernel | ns a facet at 20k | 100k | 1M | 4M | growth | allocated, MB | peak, MB |"
	print "|---|---|---|---|---|---|---|---|"
	for (r = 1; r <= rows; r++) {
		line = "| " order[r]
		first = last = 0
		for (s = 1; s <= sizes; s++) {
			key = order[r] SUBSEP s SUBSEP "ns/facet"
			if (key in value) {
				if (!first) first = s
				last = s
				line = line " | " short(value[key])
			} else line = line " |"
		}
		if (!last) continue
		growth = "-"
		if (last > first) {
			least = value[order[r] SUBSEP first SUBSEP "ns/facet"] * facets[first]
			most = value[order[r] SUBSEP last SUBSEP "ns/facet"] * facets[last]
			growth = sprintf("%.2f", log(most / least) / log(facets[last] / facets[first]))
		}
		print line " | " growth " | " short(value[order[r] SUBSEP last SUBSEP "B/op"] / 1e6) " | " short(value[order[r] SUBSEP last SUBSEP "peak-MB"]) " |"
	}
	print ""
}

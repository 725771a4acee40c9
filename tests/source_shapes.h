/* source_shapes.h - open listings in the shapes of the documents that define
 * them, and what is to be read from each.
 *
 * Addresses are of the documentation range (RFC 9542 2.1.4), names invented.
 */
#ifndef TESTS_SOURCE_SHAPES_H
#define TESTS_SOURCE_SHAPES_H

#include "capture/source.h"

struct source_shape {
	const char *what;
	enum source_kind kind;      /* that it must be recognised as */
	const char *text, *expected;   /* as listing_text says it, with the roster's gear */
};

#define YANG_NS "xmlns=\"urn:ietf:params:xml:ns:yang:ietf-interfaces\""

static const struct source_shape source_shapes[] = {
	/* --- XML --------------------------------------------------------------------- */
	{ "the shape of RFC 8343 appendix E: <get-data> reply", SOURCE_YANG_XML,
	  "<rpc-reply\n    xmlns=\"urn:ietf:params:xml:ns:netconf:base:1.0\"\n    message-id=\"101\">\n"
	  "  <data xmlns=\"urn:ietf:params:xml:ns:yang:ietf-netconf-nmda\">\n"
	  "    <interfaces\n        " YANG_NS "\n        xmlns:ianaift=\"urn:ietf:params:xml:ns:yang:iana-if-type\"\n"
	  "        xmlns:or=\"urn:ietf:params:xml:ns:yang:ietf-origin\">\n\n"
	  "      <interface or:origin=\"or:intended\">\n        <name>port1</name>\n        <type>ianaift:ethernetCsmacd</type>\n"
	  "        <enabled>false</enabled>\n        <if-index>2</if-index>\n        <phys-address>00:00:5e:00:53:01</phys-address>\n"
	  "        <statistics>\n          <discontinuity-time>\n            2013-04-01T03:00:00+00:00\n          </discontinuity-time>\n"
	  "          <!-- counters now shown here -->\n        </statistics>\n      </interface>\n"
	  "      <interface or:origin=\"or:system\">\n        <name>lo1</name>\n        <type>ianaift:softwareLoopback</type>\n      </interface>\n"
	  "      <interface>\n        <name>MGMT</name>\n        <phys-address>00:00:5E:00:53:00</phys-address>\n      </interface>\n"
	  "    </interfaces>\n  </data>\n</rpc-reply>\n",
	  "15 port1 00-00-5E-00-53-01\n29 mgmt 00-00-5E-00-53-00\n" },
	{ "interfaces-state with a declaration, prefixes, CDATA and character references", SOURCE_YANG_XML,
	  "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\r\n<if:interfaces-state xmlns:if=\"urn:ietf:params:xml:ns:yang:ietf-interfaces\">\r\n"
	  "<if:interface><if:phys-address>\r\n  00:00:5e:00:53:02\r\n</if:phys-address><if:name><![CDATA[port2]]></if:name></if:interface>\r\n"
	  "<if:interface><if:name>po&#x72;t3</if:name><if:phys-address>00:00:5e&#58;00:53:03</if:phys-address></if:interface>\r\n"
	  "</if:interfaces-state>\r\n",
	  "4 port2 00-00-5E-00-53-02\n6 port3 00-00-5E-00-53-03\n" },
	{ "one entry, as RFC 8040 gets it", SOURCE_YANG_XML,
	  "<interface " YANG_NS "><name>port4</name><phys-address>00:00:5e:00:53:04</phys-address></interface>",
	  "1 port4 00-00-5E-00-53-04\n" },
	{ "other modules' leaves are not ours", SOURCE_YANG_XML,
	  "<interfaces " YANG_NS " xmlns:x=\"urn:example:x\">\n<interface><name>port5</name><x:name>port6</x:name>\n"
	  "<x:phys-address>00:00:5e:00:53:66</x:phys-address><x:more><phys-address>00:00:5e:00:53:67</phys-address></x:more>\n"
	  "<phys-address>00:00:5e:00:53:05</phys-address></interface>\n<x:interface><name>port7</name></x:interface>\n</interfaces>\n",
	  "4 port5 00-00-5E-00-53-05\n" },
	{ "malformed, strange, nameless and twice", SOURCE_YANG_XML,
	  "<interfaces " YANG_NS ">\n<interface><name>port1</name><phys-address>00:00:5e:00:53:0O</phys-address></interface>\n"
	  "<interface><name>lan 0</name><phys-address>00:00:5e:00:53:33</phys-address></interface>\n"
	  "<interface><phys-address>00:00:5e:00:53:34</phys-address></interface>\n"
	  "<interface><name>port2</name><phys-address>00:00:5e:00:53:02</phys-address></interface>\n"
	  "<interface><name>port2</name><phys-address>00:00:5e:00:53:20</phys-address></interface>\n"
	  "<interface><name>port3</name><name>port4</name><phys-address>12:0:5e:10:53:11</phys-address></interface>\n</interfaces>\n",
	  "3 lan 0? 00-00-5E-00-53-33\n5 port2 00-00-5E-00-53-02\n6 port2 00-00-5E-00-53-20\n"
	  "2:60 a letter that is no hex digit but looks like one: 00:00:5e:00:53:0O\n"
	  "4:26 an address of an interface without a name: 00:00:5e:00:53:34\n"
	  "6:44 another address for port2 than on line 5: 00-00-5E-00-53-20\n"
	  "7:36 a second name for one interface: port4\n"
	  "7:65 digits are missing: an address has 12: 12:0:5e:10:53:11\n" },
	{ "end of message marks and a second reply (RFC 6242 4.3)", SOURCE_YANG_XML,
	  "<data>\n<interfaces " YANG_NS "><interface><name>port1</name><phys-address>00:00:5e:00:53:01</phys-address></interface></interfaces>\n"
	  "</data>]]>]]>\n<data>\n<interfaces " YANG_NS "><interface><name>port2</name><phys-address>00:00:5e:00:53:02</phys-address></interface></interfaces>\n"
	  "</data>\n]]>]]>\n",
	  "2 port1 00-00-5E-00-53-01\n5 port2 00-00-5E-00-53-02\n" },
	{ "cut off in the middle of an address", SOURCE_YANG_XML,
	  "<interfaces " YANG_NS ">\n<interface><name>port1</name><phys-address>00:00:5e:00:53:01</phys-address></interface>\n"
	  "<interface><name>port2</name><phys-address>00:00:5e:00:53:02",
	  "2 port1 00-00-5E-00-53-01\n3:61 the text ends before its last element does: \n" },
	{ "cut off behind an address", SOURCE_YANG_XML,
	  "<interfaces " YANG_NS ">\n<interface><name>port2</name><phys-address>00:00:5e:00:53:02</phys-address>\n",
	  "2 port2 00-00-5E-00-53-02\n3:1 the text ends before its last element does: \n" },
	{ "a tag that ends nothing", SOURCE_YANG_XML,
	  "<interfaces " YANG_NS ">\n<interface><name>port1</name><phys-address>00:00:5e:00:53:01</phys-address></interface>\n</interface>\n",
	  "2 port1 00-00-5E-00-53-01\n"
	  "3:13 not readable as XML: Opening and ending tag mismatch: interfaces line 1 and inter...\n" },
	/* --- JSON --------------------------------------------------------------------- */
	{ "the shape of RFC 7951 names, compact", SOURCE_YANG_JSON,
	  "{\"ietf-interfaces:interfaces\":{\"interface\":[{\"name\":\"port1\",\"type\":\"iana-if-type:ethernetCsmacd\",\"if-index\":2,"
	  "\"phys-address\":\"00:00:5e:00:53:01\",\"statistics\":{\"in-octets\":\"123\",\"name\":\"port9\"}},{\"name\":\"serial1\",\"type\":\"iana-if-type:ppp\"}]}}",
	  "1 port1 00-00-5E-00-53-01\n" },
	{ "indented, the older container, the address first", SOURCE_YANG_JSON,
	  "\n{\n  \"ietf-interfaces:interfaces-state\": {\n    \"interface\": [\n      {\n        \"phys-address\": \"00:00:5E:00:53:07\",\n"
	  "        \"name\": \"Port 07\"\n      },\n      {\n        \"name\": \"port8\",\n        \"phys-address\": \"\"\n      },\n"
	  "      {\n        \"name\": \"port9\",\n        \"phys-address\": null\n      }\n    ]\n  }\n}\n",
	  "6 port7 00-00-5E-00-53-07\n" },
	{ "in a reply of RESTCONF (RFC 8040), both containers", SOURCE_YANG_JSON,
	  "{\"ietf-restconf:data\":{\"ietf-system:system\":{\"hostname\":\"gauge\"},\n\"ietf-interfaces:interfaces\":{\"interface\":[{\"name\":\"port1\"}]},\n"
	  "\"ietf-interfaces:interfaces-state\":{\"interface\":[\n{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53:01\"}]}}}\n",
	  "4 port1 00-00-5E-00-53-01\n" },
	{ "without prefixes", SOURCE_YANG_JSON,
	  "{\"interfaces\":{\"interface\":[{\"name\":\"mgmt\",\"phys-address\":\"00:00:5e:00:53:00\"}]}}\n", "1 mgmt 00-00-5E-00-53-00\n" },
	{ "one entry, as RFC 8040 gets it", SOURCE_YANG_JSON,
	  "{\"ietf-interfaces:interface\":[{\"ietf-interfaces:name\":\"port4\",\"ietf-interfaces:phys-address\":\"00:00:5e:00:53:04\"}]}",
	  "1 port4 00-00-5E-00-53-04\n" },
	{ "other modules' members are not ours", SOURCE_YANG_JSON,
	  "{\"ietf-interfaces:interfaces\":{\"interface\":[{\"name\":\"port5\",\"x:name\":\"port6\",\"x:phys-address\":\"00:00:5e:00:53:66\",\n"
	  "\"phys-address\":\"00:00:5e:00:53:05\",\"x:sub\":{\"interfaces\":{\"interface\":[{\"name\":\"port7\",\"phys-address\":\"00:00:5e:00:53:77\"}]}}}],\n"
	  "\"x:interface\":[{\"name\":\"port8\",\"phys-address\":\"00:00:5e:00:53:88\"}]},\"x:interfaces\":{\"interface\":[{\"name\":\"port9\",\"phys-address\":\"00:00:5e:00:53:99\"}]}}",
	  "2 port5 00-00-5E-00-53-05\n" },
	{ "malformed, no string, a key twice, nameless", SOURCE_YANG_JSON,
	  "{\"ietf-interfaces:interfaces\":{\"interface\":[\n{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53\"},\n"
	  "{\"name\":\"port2\",\"phys-address\":[2]},\n{\"name\":\"port3\",\n \"name\":\"port4\",\"phys-address\":\"00:00:5e:00:53:04\"},\n"
	  "{\"phys-address\":\"00:00:5e:00:53:05\"},\n{\"name\":\"port6\",\"phys-address\":\"00:00:5e:00:53:06\"}]}}\n",
	  "7 port6 00-00-5E-00-53-06\n"
	  "2:47 digits are missing: an address has 12: 00:00:5e:00:53\n"
	  "3:1 a name, type or phys-address that is no string: port2\n"
	  "5:7 one interface with the same key twice: duplicate object key near '\"name\"'\n"
	  "6:18 an address of an interface without a name: 00:00:5e:00:53:05\n" },
	{ "cut off", SOURCE_YANG_JSON,
	  "{\"ietf-interfaces:interfaces\":{\"interface\":[\n{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53:01\"},\n{\"name\":\"port2\",\"phys-add",
	  "2 port1 00-00-5E-00-53-01\n3:26 the text ends in the middle of an interface: \n" },
	{ "cut off between interfaces", SOURCE_YANG_JSON,
	  "{\"ietf-interfaces:interfaces\":{\"interface\":[\n{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53:01\"},\n",
	  "2 port1 00-00-5E-00-53-01\n3:1 the text ends before its last bracket: \n" },
	{ "two texts joined, a prompt before, between and behind", SOURCE_YANG_JSON,
	  "gauge> get interfaces\n{\"ietf-interfaces:interfaces\":{\"interface\":[{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53:01\"}]}}\ngauge> again\n"
	  "{\"ietf-interfaces:interfaces\":{\"interface\":[{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53:10\"}]}}gauge> ",
	  "2 port1 00-00-5E-00-53-01\n4 port1 00-00-5E-00-53-10\n4:77 another address for port1 than on line 2: 00-00-5E-00-53-10\n" },
	{ "brackets that do not match, and text behind", SOURCE_YANG_JSON,
	  "{\"ietf-interfaces:interfaces\":{\"interface\":[{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53:01\"}}]}\n",
	  "1 port1 00-00-5E-00-53-01\n1:96 a bracket that closes what was not opened: }\n" },
	{ "text outside", SOURCE_YANG_JSON,
	  "{\"ietf-interfaces:interfaces\":{\"interface\":[]}}\nand so on\nand on\n", "2:1 text outside of the listing: and so on\n" },
	/* --- a walk: net-snmp 5.9.3's output forms --------------------------------------- */
	{ "names of the IF-MIB", SOURCE_IFMIB,
	  "IF-MIB::ifIndex.1 = INTEGER: 1\nIF-MIB::ifIndex.4 = INTEGER: 4\nIF-MIB::ifDescr.1 = STRING: lo\nIF-MIB::ifDescr.4 = STRING: port1\n"
	  "IF-MIB::ifType.1 = INTEGER: softwareLoopback(24)\nIF-MIB::ifType.4 = INTEGER: ethernetCsmacd(6)\n"
	  "IF-MIB::ifPhysAddress.1 = STRING: \nIF-MIB::ifPhysAddress.4 = STRING: 0:0:5e:0:53:1\nIF-MIB::ifAdminStatus.1 = INTEGER: up(1)\n",
	  "8 port1 00-00-5E-00-53-01\n" },
	{ "numbers, octets in hex and printable octets, in any order", SOURCE_IFMIB,
	  "iso.3.6.1.2.1.2.2.1.6.1 = \"\"\niso.3.6.1.2.1.2.2.1.6.2 = STRING: \"z:SAlu\"\niso.3.6.1.2.1.2.2.1.6.4 = Hex-STRING: 00 00 5E 00 53 04 \n"
	  "iso.3.6.1.2.1.31.1.1.1.1.2 = STRING: \"port2\"\niso.3.6.1.2.1.2.2.1.2.2 = STRING: \"second\"\niso.3.6.1.2.1.2.2.1.2.4 = STRING: \"port4\"\n"
	  "iso.3.6.1.2.1.2.2.1.2.1 = STRING: \"lo\"\n",
	  "2 port2 7A-3A-53-41-6C-75\n3 port4 00-00-5E-00-53-04\n" },
	{ "full numbers, and other forms of the OID", SOURCE_IFMIB,
	  ".1.3.6.1.2.1.2.2.1.2.1 = STRING: \"port1\"\n.1.3.6.1.2.1.2.2.1.6.1 = Hex-STRING: 00 00 5E 00 53 01 \n"
	  ".iso.org.dod.internet.mgmt.mib-2.interfaces.ifTable.ifEntry.ifPhysAddress.2 = STRING: 0:0:5e:0:53:2\nifDescr.2 = STRING: port2\n"
	  "SNMPv2-SMI::mib-2.2.2.1.6.3 = Hex-STRING: 00 00 5E 00 53 03 \nmib-2.31.1.1.1.1.3 = STRING: \"port3\"\r\n"
	  "IF-MIB::ifPhysAddress.4 = 0:0:5e:0:53:4\nIF-MIB::ifName.4 = port4\n",
	  "2 port1 00-00-5E-00-53-01\n3 port2 00-00-5E-00-53-02\n5 port3 00-00-5E-00-53-03\n7 port4 00-00-5E-00-53-04\n" },
	{ "octets that need a backslash or hold a line end; a name in hex", SOURCE_IFMIB,
	  "iso.3.6.1.2.1.2.2.1.6.1 = STRING: \"a\\\"b\\\\cd\"\niso.3.6.1.2.1.2.2.1.6.2 = STRING: \"ab\ncde\"\n"
	  "iso.3.6.1.2.1.2.2.1.2.1 = Hex-STRING: 70 6F 72 74 31 00 \niso.3.6.1.2.1.2.2.1.2.2 = STRING: \"port2\"\n",
	  "1 port1 61-22-62-5C-63-64\n2 port2 61-62-0A-63-64-65\n" },
	{ "ifName wins, unless only ifDescr is on the roster", SOURCE_IFMIB,
	  "IF-MIB::ifDescr.1 = STRING: port1\nIF-MIB::ifDescr.2 = STRING: port12\nIF-MIB::ifName.1 = STRING: 1\nIF-MIB::ifName.2 = STRING: p2\n"
	  "IF-MIB::ifPhysAddress.1 = STRING: 0:0:5e:0:53:1\nIF-MIB::ifPhysAddress.2 = STRING: 0:0:5e:0:53:2\nIF-MIB::ifPhysAddress.3 = STRING: 0:0:5e:0:53:3\n",
	  "5 port1 00-00-5E-00-53-01\n6 port2 00-00-5E-00-53-02\n7:35 an address of an interface without a name: 0:0:5e:0:53:3\n" },
	{ "malformed", SOURCE_IFMIB,
	  "IF-MIB::ifName.1 = STRING: port1\nIF-MIB::ifPhysAddress.1 = STRING: 0:0:5e:0:53\niso.3.6.1.2.1.2.2.1.6.2 = Hex-STRING: 00 00 5E FF FE 00 53 02 \n"
	  "iso.3.6.1.2.1.2.2.1.6.3 = STRING: \"abcde\"\niso.3.6.1.2.1.2.2.1.6.4 = No Such Instance currently exists at this OID\n",
	  "2:46 digits are missing: an address has 12: 0:0:5e:0:53\n"
	  "3:39 eight octets: an EUI-64, not an EUI-48: 00 00 5E FF FE 00 53 02\n"
	  "4:41 digits are missing: an address has 12: abcde\n" },
	{ "two units' walks put together", SOURCE_IFMIB,
	  "IF-MIB::ifName.1 = STRING: port1\nIF-MIB::ifPhysAddress.1 = STRING: 0:0:5e:0:53:1\n"
	  "IF-MIB::ifName.1 = STRING: port2\nIF-MIB::ifPhysAddress.1 = STRING: 0:0:5e:0:53:2\n",
	  "2 port1 00-00-5E-00-53-01\n4 port1 00-00-5E-00-53-02\n3:28 another ifName of index 1 than on line 1: port2\n"
	  "4:35 another address for port1 than on line 2: 00-00-5E-00-53-02\n" },
	{ "an octet that may be half of one", SOURCE_IFMIB,
	  "IF-MIB::ifName.1 = STRING: port1\nIF-MIB::ifPhysAddress.1 = STRING: 0:0:5e:0:53:1",
	  "2:48 the text ends here without a line end, and something may be missing: STRING: 0:0:5e:0:53:1\n" },
	{ "cut off in a name, a quote, a line", SOURCE_IFMIB,
	  "iso.3.6.1.2.1.2.2.1.6.1 = Hex-STRING: 00 00 5E 00 53 01 \niso.3.6.1.2.1.2.2.1.2.1 = STRING: \"port",
	  "2:40 the text ends here without a line end, and something may be missing: STRING: \"port\n"
	  "1:39 an address of an interface without a name: 00 00 5E 00 53 01\n" },
	{ "cut off in an OID", SOURCE_IFMIB,
	  "iso.3.6.1.2.1.2.2.1.6.1 = Hex-STRING: 00 00 5E 00 53 01 \niso.3.6.1.2.1.2.2.1.2.1 = STRING: \"port1\"\niso",
	  "1 port1 00-00-5E-00-53-01\n3:1 the text ends in the middle of a line: iso\n" },
	/* --- ip link: iproute2 6.1 --------------------------------------------------------- */
	{ "ip link", SOURCE_IP_LINK,
	  "1: lo: <LOOPBACK,UP,LOWER_UP> mtu 65536 qdisc noqueue state UNKNOWN mode DEFAULT group default qlen 1000\n"
	  "    link/loopback 00:00:00:00:00:00 brd 00:00:00:00:00:00\n"
	  "3: port1@port2: <BROADCAST,MULTICAST,M-DOWN> mtu 1500 qdisc noop state DOWN mode DEFAULT group default qlen 1000\n"
	  "    link/ether 00:00:5e:00:53:01 brd ff:ff:ff:ff:ff:ff\n"
	  "4: wlan-x: <BROADCAST> mtu 1500 qdisc noop state DOWN mode DEFAULT group default qlen 1000\n"
	  "    link/ether 00:00:5e:00:53:02 brd ff:ff:ff:ff:ff:ff permaddr 00:00:5e:00:53:99\n    altname gauge-line\n    altname port2\n"
	  "5: tun0: <POINTOPOINT> mtu 1500 qdisc noop state DOWN\n    link/none \n",
	  "4 port1 00-00-5E-00-53-01\n6 port2 00-00-5E-00-53-02\n" },
	{ "ip -oneline link, behind its command", SOURCE_IP_LINK,
	  "root@gauge:~# ip -o link\n"
	  "1: lo: <LOOPBACK> mtu 65536 qdisc noop state DOWN mode DEFAULT group default qlen 1000\\    link/loopback 00:00:00:00:00:00 brd 00:00:00:00:00:00\n"
	  "3: port3: <BROADCAST> mtu 1500 qdisc noop state DOWN\\    link/ether 00:00:5e:00:53:03 brd ff:ff:ff:ff:ff:ff\\    altname gauge-line\nroot@gauge:~# ",
	  "3 port3 00-00-5E-00-53-03\n" },
	{ "ip address, with details, coloured", SOURCE_IP_LINK,
	  "3: port3: <BROADCAST,UP> mtu 1500 qdisc noop state UP group default qlen 1000\n"
	  "    link/ether \x1b[33m00:00:5e:00:53:03\x1b[0m brd \x1b[33mff:ff:ff:ff:ff:ff\x1b[0m promiscuity 0 minmtu 68 maxmtu 65535\n"
	  "    vf 0     link/ether 00:00:5e:00:53:99 brd ff:ff:ff:ff:ff:ff\n"
	  "    inet 192.0.2.3/24 brd 192.0.2.255 scope global port3\n       valid_lft forever preferred_lft forever\n",
	  "2 port3 00-00-5E-00-53-03\n" },
	{ "malformed, cut off, lines lost", SOURCE_IP_LINK,
	  "1: port1: <UP> mtu 1500 state UP\n    link/ether 00:00:5e:00:53:0O brd ff:ff:ff:ff:ff:ff\n2: port2: <UP> mtu 1500 state UP\n"
	  "3: port3: <UP> mtu 1500 state UP\n    link/ether\n4: port4\n    link/ether 00:00:5e:00:53:04 brd ff:ff:ff:ff:ff:ff\n"
	  "5: port5: <UP> mtu 1500 state UP\n    link/ether 00:00:5e:00:53:05 brd ff:ff:ff:ff:ff:ff\n6: port6: <UP> mtu 1500 state UP\n    link/ether 12:34:56:78:9a:b",
	  "9 port5 00-00-5E-00-53-05\n"
	  "2:32 a letter that is no hex digit but looks like one: 00:00:5e:00:53:0O\n"
	  "3:4 an interface without its link's line: port2\n5:15 the address is missing: link/ether\n"
	  "6:1 not readable as an interface's line: 4: port4\n"
	  "7:16 an address of an interface without a name: 00:00:5e:00:53:04\n"
	  "11:31 digits are missing: an address has 12: 12:34:56:78:9a:b\n" },
	{ "cut off in the link's line", SOURCE_IP_LINK,
	  "1: port1: <UP> mtu 1500 state UP\n    link/eth", "1:4 an interface without its link's line: port1\n" },
	{ "ip -json link", SOURCE_IP_LINK_JSON,
	  "[{\"ifindex\":1,\"ifname\":\"lo\",\"flags\":[\"LOOPBACK\",\"UP\"],\"mtu\":65536,\"link_type\":\"loopback\",\"address\":\"00:00:00:00:00:00\",\"broadcast\":\"00:00:00:00:00:00\"},"
	  "{\"ifindex\":3,\"link\":\"port2\",\"ifname\":\"port1\",\"flags\":[\"BROADCAST\"],\"link_type\":\"ether\",\"address\":\"00:00:5e:00:53:01\",\"broadcast\":\"ff:ff:ff:ff:ff:ff\"},{},"
	  "{\"ifname\":\"wlan-x\",\"link_type\":\"ether\",\"address\":\"00:00:5e:00:53:02\",\"altnames\":[\"gauge-line\",\"port2\"]},{\"ifname\":\"tun0\",\"link_type\":\"none\"}]\n",
	  "1 port1 00-00-5E-00-53-01\n1 port2 00-00-5E-00-53-02\n" },
	{ "ip -json -pretty link, behind a prompt in brackets", SOURCE_IP_LINK_JSON,
	  "[root@gauge ~]$ ip -j -p link\n[ {\n        \"ifindex\": 2,\n        \"ifname\": \"port4\",\n        \"link_type\": \"ether\",\n"
	  "        \"address\": \"00:00:5e:00:53:04\",\n        \"broadcast\": \"ff:ff:ff:ff:ff:ff\"\n    } ]\n[root@gauge ~]$ ",
	  "6 port4 00-00-5E-00-53-04\n" },
	{ "ip -json -brief link has no link_type", SOURCE_IP_LINK_JSON,
	  "[{\"ifname\":\"lo\",\"operstate\":\"UNKNOWN\",\"address\":\"00:00:00:00:00:00\",\"flags\":[\"LOOPBACK\",\"UP\"]},\n"
	  "{\"ifname\":\"port1\",\"operstate\":\"UP\",\"address\":\"00:00:5e:00:53:0\",\"flags\":[\"BROADCAST\"]},\n"
	  "{\"ifname\":\"port2\",\"operstate\":\"UP\",\"address\":\"00:00:5e:00:53:02\",\"flags\":[\"BROADCAST\"]}]",
	  "3 port2 00-00-5E-00-53-02\n2:63 digits are missing: an address has 12: 00:00:5e:00:53:0\n" },
	/* --- near misses: console text ------------------------------------------------------- */
	{ "a numbered table", SOURCE_CONSOLE, "1: port1: <up> 00-00-5E-00-53-01\n2: port2: <up> 00-00-5E-00-53-02\n",
	  "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n" },
	{ "JSON of one's own", SOURCE_CONSOLE, "{ \"interfaces\": [\n  { \"name\": \"port1\", \"mac\": \"00:00:5e:00:53:01\" } ] }\n",
	  "2 port1 00-00-5E-00-53-01\n" },
	{ "a prompt in angle brackets", SOURCE_CONSOLE, "<gauge> list interfaces\nport1 00-00-5E-00-53-01\n", "2 port1 00-00-5E-00-53-01\n" },
	{ "a prompt in square brackets", SOURCE_CONSOLE, "[op@gauge] > list\nport1 00-00-5E-00-53-01\n", "2 port1 00-00-5E-00-53-01\n" },
	{ "names with dots and equals signs", SOURCE_CONSOLE, "if.1 = port1\nport1.1 = 00-00-5E-00-53-01\n", "2 port1.1? 00-00-5E-00-53-01\n" },
	{ "a serial number before ip link", SOURCE_CONSOLE,
	  "Serial number: EG12-26-00417\n2: port2: <UP> mtu 1500 state UP\n    link/ether 00:00:5e:00:53:02 brd ff:ff:ff:ff:ff:ff\n",
	  "3 port2 00-00-5E-00-53-02\n1 serial EG12-26-00417\n" },
	{ "nothing at all", SOURCE_CONSOLE, "", "" },
};

#endif

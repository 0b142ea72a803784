"""The creek session through the fixing at its real pace, spoken, six pieces; the washes faster. Thirteen minutes."""
from creek import Creek

KINDS = ("handling", "develop", "rinse", "stop", "fix", "second-fix")
session = Creek("creek session, real time through the fixing", dict.fromkeys(KINDS, 1), 60, 6)
session.start()
session.join()
session.judge()

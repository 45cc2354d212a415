"""What a site states of itself, once for all its visits.

site_facts  Who calibrates for whom and where, as a certificate asks for it; who may sign records off
"""

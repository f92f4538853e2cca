"""What people and other tools read: text, SARIF, JUnit-style XML, pictures of graphs, the catalogue
of rules.
"""

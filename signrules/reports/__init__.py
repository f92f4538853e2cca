"""What people and other tools read: text, SARIF, JUnit-style XML, pictures, rule catalogue."""

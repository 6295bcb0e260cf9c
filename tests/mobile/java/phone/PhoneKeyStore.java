package phone;

import android.security.keystore.KeyGenParameterSpec;
import java.io.InputStream;
import java.io.OutputStream;
import java.security.AlgorithmParameters;
import java.security.GeneralSecurityException;
import java.security.InvalidAlgorithmParameterException;
import java.security.InvalidKeyException;
import java.security.Key;
import java.security.KeyStoreSpi;
import java.security.NoSuchAlgorithmException;
import java.security.Provider;
import java.security.ProviderException;
import java.security.SecureRandom;
import java.security.Security;
import java.security.cert.Certificate;
import java.security.spec.AlgorithmParameterSpec;
import java.util.Arrays;
import java.util.Collections;
import java.util.Date;
import java.util.Enumeration;
import java.util.HashMap;
import java.util.Map;
import javax.crypto.Cipher;
import javax.crypto.CipherSpi;
import javax.crypto.KeyGenerator;
import javax.crypto.KeyGeneratorSpi;
import javax.crypto.SecretKey;
import javax.crypto.spec.GCMParameterSpec;

/**
 * A phone's key store as Android's reference describes it: "AndroidKeyStore" makes and keeps keys
 * that nobody reads (getEncoded is null); its ciphers are found by the key, not by a name; a key
 * does only what its specification allows, and makes the IV itself.
 */
public final class PhoneKeyStore {
    static final Map<String, KeptKey> kept = new HashMap<>();
    static boolean answers = true;

    public static void install() {
        Security.addProvider(new Store());
        Security.addProvider(new Ciphers());
    }

    /** Another phone, or this one after its data were deleted: no key of ours is there. */
    public static void forgetKeys() {
        kept.clear();
    }

    public static void answer(boolean does) {
        answers = does;
    }

    public static int keys() {
        return kept.size();
    }

    static final class KeptKey implements SecretKey {
        final SecretKey inside;
        final KeyGenParameterSpec spec;

        KeptKey(SecretKey inside, KeyGenParameterSpec spec) {
            this.inside = inside;
            this.spec = spec;
        }

        @Override
        public String getAlgorithm() {
            return "AES";
        }

        @Override
        public String getFormat() {
            return null;
        }

        @Override
        public byte[] getEncoded() {
            return null;
        }
    }

    static final class Store extends Provider {
        Store() {
            super("AndroidKeyStore", "1.0", "stands for the phone's key store");
            put("KeyStore.AndroidKeyStore", Keys.class.getName());
            put("KeyGenerator.AES", Maker.class.getName());
        }
    }

    static final class Ciphers extends Provider {
        Ciphers() {
            super("AndroidKeyStoreBCWorkaround", "1.0", "its ciphers, found by their key");
            put("Cipher.AES/GCM/NoPadding", Gcm.class.getName());
            put("Cipher.AES/GCM/NoPadding SupportedKeyClasses", KeptKey.class.getName());
        }
    }

    static void asked() {
        if (!answers) throw new ProviderException("Keystore operation failed");
    }

    public static final class Maker extends KeyGeneratorSpi {
        private KeyGenParameterSpec spec;

        @Override
        protected void engineInit(SecureRandom random) {
            throw new UnsupportedOperationException("Cannot initialize without a KeyGenParameterSpec");
        }

        @Override
        protected void engineInit(int size, SecureRandom random) {
            engineInit(random);
        }

        @Override
        protected void engineInit(AlgorithmParameterSpec parameters, SecureRandom random)
                throws InvalidAlgorithmParameterException {
            if (!(parameters instanceof KeyGenParameterSpec)) {
                throw new InvalidAlgorithmParameterException("Unsupported params class");
            }
            spec = (KeyGenParameterSpec) parameters;
        }

        @Override
        protected SecretKey engineGenerateKey() {
            asked();
            try {
                KeyGenerator inside = KeyGenerator.getInstance("AES", "SunJCE");
                inside.init(spec.size);
                kept.put(spec.alias, new KeptKey(inside.generateKey(), spec));
            } catch (GeneralSecurityException error) {
                throw new ProviderException(error);
            }
            return kept.get(spec.alias);
        }
    }

    public static final class Gcm extends CipherSpi {
        private Cipher inside;

        @Override
        protected void engineInit(int mode, Key key, SecureRandom random) throws InvalidKeyException {
            try {
                engineInit(mode, key, (AlgorithmParameterSpec) null, random);
            } catch (InvalidAlgorithmParameterException error) {
                throw new InvalidKeyException(error);
            }
        }

        @Override
        protected void engineInit(int mode, Key key, AlgorithmParameterSpec how, SecureRandom random)
                throws InvalidKeyException, InvalidAlgorithmParameterException {
            asked();
            KeptKey ours = (KeptKey) key;
            if (kept.get(ours.spec.alias) != ours) throw new InvalidKeyException("Key not found");
            if ((ours.spec.purposes & mode) == 0) throw new InvalidKeyException("Incompatible purpose");
            if (!Arrays.asList(ours.spec.modes).contains("GCM")) {
                throw new InvalidKeyException("Incompatible block mode");
            }
            if (!Arrays.asList(ours.spec.paddings).contains("NoPadding")) {
                throw new InvalidKeyException("Incompatible padding mode");
            }
            if (mode == Cipher.ENCRYPT_MODE && how != null) {
                throw new InvalidAlgorithmParameterException("Caller-provided IV not permitted");
            }
            if (mode == Cipher.DECRYPT_MODE && !(how instanceof GCMParameterSpec)) {
                throw new InvalidAlgorithmParameterException("IV required when decrypting");
            }
            try {
                inside = Cipher.getInstance("AES/GCM/NoPadding", "SunJCE");
                inside.init(mode, ours.inside, how);
            } catch (GeneralSecurityException error) {
                throw new InvalidKeyException(error);
            }
        }

        @Override
        protected void engineInit(int mode, Key key, AlgorithmParameters how, SecureRandom random)
                throws InvalidKeyException {
            throw new InvalidKeyException("not used");
        }

        @Override
        protected byte[] engineDoFinal(byte[] input, int start, int length)
                throws javax.crypto.IllegalBlockSizeException, javax.crypto.BadPaddingException {
            asked();
            return inside.doFinal(input, start, length);
        }

        @Override
        protected int engineDoFinal(byte[] in, int start, int length, byte[] out, int at) {
            throw new UnsupportedOperationException();
        }

        @Override
        protected byte[] engineUpdate(byte[] input, int start, int length) {
            return inside.update(input, start, length);
        }

        @Override
        protected int engineUpdate(byte[] in, int start, int length, byte[] out, int at) {
            throw new UnsupportedOperationException();
        }

        @Override
        protected byte[] engineGetIV() {
            return inside.getIV();
        }

        @Override
        protected AlgorithmParameters engineGetParameters() {
            return inside.getParameters();
        }

        @Override
        protected int engineGetBlockSize() {
            return 16;
        }

        @Override
        protected int engineGetOutputSize(int length) {
            return length + 16;
        }

        @Override
        protected void engineSetMode(String mode) throws NoSuchAlgorithmException {}

        @Override
        protected void engineSetPadding(String padding) {}
    }

    public static final class Keys extends KeyStoreSpi {
        @Override
        public Key engineGetKey(String alias, char[] password) {
            asked();
            return kept.get(alias);
        }

        @Override
        public void engineLoad(InputStream stream, char[] password) {
            if (stream != null) throw new IllegalArgumentException("InputStream not supported");
        }

        @Override
        public boolean engineContainsAlias(String alias) {
            return kept.containsKey(alias);
        }

        @Override
        public boolean engineIsKeyEntry(String alias) {
            return kept.containsKey(alias);
        }

        @Override
        public Enumeration<String> engineAliases() {
            return Collections.enumeration(kept.keySet());
        }

        @Override
        public int engineSize() {
            return kept.size();
        }

        @Override
        public void engineDeleteEntry(String alias) {
            kept.remove(alias);
        }

        @Override
        public Certificate[] engineGetCertificateChain(String alias) {
            return null;
        }

        @Override
        public Certificate engineGetCertificate(String alias) {
            return null;
        }

        @Override
        public Date engineGetCreationDate(String alias) {
            return null;
        }

        @Override
        public void engineSetKeyEntry(String alias, Key key, char[] password, Certificate[] chain) {
            throw new UnsupportedOperationException();
        }

        @Override
        public void engineSetKeyEntry(String alias, byte[] key, Certificate[] chain) {
            throw new UnsupportedOperationException();
        }

        @Override
        public void engineSetCertificateEntry(String alias, Certificate cert) {
            throw new UnsupportedOperationException();
        }

        @Override
        public boolean engineIsCertificateEntry(String alias) {
            return false;
        }

        @Override
        public String engineGetCertificateAlias(Certificate cert) {
            return null;
        }

        @Override
        public void engineStore(OutputStream stream, char[] password) {
            throw new UnsupportedOperationException();
        }
    }
}
